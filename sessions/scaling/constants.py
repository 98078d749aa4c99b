"""Every constant of the scaling method, with its unit and where it comes from.

"Working model" marks our own assumptions; they are priors, to be overruled by logged rounds.
"""

# --- Fatigue between sets ---
SLOW_SHARE = 0.15  # of the fatigue of a set that fades slowly (working model; Chorley et al. 2022 see two speeds)
SLOW_TAU_S = 1800.0  # its time constant, s (working model)
REPETITIONS_TAU_S = 90.0  # fast time constant of repetitions, s (phosphocreatine: Bogdanis et al. 1995, from memory)
COUPLING = 0.3  # how far a set tires the same pattern at another station (working model)
OTHER_WORK_SHARE = 0.55  # of CP: mean demand of other stations' work on an engine's recovery (working model)

# --- Safety ---
# Of the prescription at most, for someone nothing is known about. Ours: guidance for the first weeks after a break
# (Caterisano et al. 2019, from memory) begins between 50 and 70 % of the usual volume.
UNTESTED_SHARE = 0.7

# --- What a circuit may be (ours) ---
INTERVAL_BOUNDS_S = (30.0, 300.0)
ROTATION_BOUNDS = (1, 40)
HEADROOM_BOUNDS = (0.0, 0.9)
DEFAULT_INTERVAL_S = 60.0
PARTNERS = (1, 2)  # athletes who take turns at a station
DEFAULT_HEADROOM = 0.15

# --- Rungs ---
REST = -1  # the rung of a station at which an athlete does nothing

# --- Whole numbers ---
METRES_STEP = 5.0  # metres are rounded down to this step
ROUNDING_SLACK = 1e-6  # of one step: forgives the floating point, never a real shortfall
