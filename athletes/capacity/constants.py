"""Every constant of the capacity estimates, with its unit and where it comes from.

Coefficients of a published equation stand beside that equation, the centres and spreads of the priors in `priors`.
"Common practice" marks what the trade does without a source we could confirm; "from memory" marks a published
value that was not looked up again.
"""

# Stored beside every estimate and every published target: raise it when a number below or a formula changes.
METHOD_VERSION = "4"

ENGINES = ("row", "ski", "bike", "run")
PATTERNS = ("pull", "push", "hinge", "squat", "trunk", "grip", "whole_body")

# --- Monitors of air-braked rowing and ski ergometers (display conventions; common practice) ---
AIR_BRAKE_W_S3_PER_M3 = 2.80  # P = 2.80·v³, v in m/s
PACE_DISTANCE_M = 500.0  # paces are shown per 500 m
KCAL_BASE_PER_H = 300.0  # shown even at zero watts: a display convention, not physiology
KCAL_SLOPE_PER_W_H = 3.4416  # 4 · 0.8604 kcal/h per W
SECONDS_PER_HOUR = 3600.0

# --- Trial noise: standard deviation of the logarithm between two equal trials (common practice, on the wide side;
# 2000 m rowing trials repeat within about 2 % in power: Schabort et al. 1999) ---
POWER_TRIAL_SD = 0.03
REPETITIONS_TRIAL_SD = 0.08
LOAD_TRIAL_SD = 0.03  # one repetition, done
LOAD_SET_TRIAL_SD = 0.05  # a maximum worked out from several repetitions (Hutchins & Gearhart 2010: 5 to 7 kg on 95 kg)

# --- Misfit of the model: nobody's curve is quite a hyperbola, nobody's unbroken best quite one number (ours). It
# stands beside each trial's noise, and once more in the estimate, shared by all trials, so that many do not make it
# over-sure.
MISFIT_SD = 0.03

# --- Old efforts: the variance added grows evenly with age, as of a walk at random, and levels off after a year: who
# trains does not become a stranger (common practice) ---
LEVELS_OFF_DAYS = 365.0
ENGINE_DRIFT_SD = 0.12  # added after a year or more
STRENGTH_DRIFT_SD = 0.15  # repetitions, holds and lifts
RETEST_AFTER_DAYS = 180.0  # a benchmark is due again (common practice)

# --- Robustness: up to this many SDs from the fit an effort has full weight, beyond it the weight falls ---
FULL_WEIGHT_SD = 3.0

# --- What is questioned when it is typed in (ours; bounds: common practice) ---
SURPRISE_SD = 1.96  # inside lie 95 % of sound results: quantile 0.975 of the normal distribution
POWER_BOUNDS_W = (20.0, 2500.0)  # averaged over at least SHORTEST_EFFORT_S
RUN_SPEED_BOUNDS_M_PER_S = (0.5, 12.5)
ONE_REP_MAX_BOUNDS_KG = (1.0, 500.0)
REPETITIONS_BOUNDS = (0.0, 500.0)  # none at all is a result
RATE_BOUNDS_PER_MIN = (0.0, 400.0)  # of paced movements: a skipping rope at its fastest stays below
SHORTEST_EFFORT_S = 5.0

# --- Firmness of a predicted target: limits on the SD of its logarithm (ours) ---
FIRM_SD = 0.05
FAIR_SD = 0.12

# --- Strength ---
REPETITION_LIMIT = 10  # rep-max equations are valid up to here (Reynolds et al. 2006)
REPETITIONS_AT_LOAD_CAP = 30.0  # Epley at half of the maximum; lighter loads end for other reasons (common practice)
# Repetition table, NSCA, Essentials of Strength Training and Conditioning: share of the maximum for 1 to 10
# repetitions. It ends here because the copies in circulation disagree beyond.
REPETITION_TABLE = (1.00, 0.95, 0.93, 0.90, 0.87, 0.85, 0.83, 0.80, 0.77, 0.75)
