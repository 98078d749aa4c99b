"""Every constant of the scaling method, with its unit and where it comes from.

"Working model" marks our own assumptions; they are priors, to be overruled by logged rounds.
"""

# --- Fatigue between sets ---
SLOW_SHARE = 0.15  # of the fatigue of a set that fades slowly (working model; Chorley et al. 2022 see two speeds)
SLOW_TAU_S = 1800.0  # its time constant, s (working model)
REPETITIONS_TAU_S = 90.0  # fast time constant of repetitions, s (phosphocreatine: Bogdanis et al. 1995, from memory)
REFILL = 4.0  # times slower than the differential W'-balance model (published group fits: two to five times)
COUPLING = 0.3  # how far a set tires the same pattern at another station (working model)
OTHER_WORK_SHARE = 0.55  # of CP: mean demand of other stations' work on an engine's recovery (working model)

# --- What the model itself does not know, day form included: SD of a log target (working model, learnt from logs) ---
ENGINE_MODEL_SD = 0.06
REPETITIONS_MODEL_SD = 0.15
QUANTILE = 0.10  # what is asked can be held, with nothing left, by the capacity at this quantile

# --- The day: how much is left in the tank (boards written by hand: RPE 8, 6 and 4) ---
HEADROOMS = {"test": 0.0, "hard": 0.10, "steady": 0.25, "easy": 0.45}  # from the hardest day to the easiest
RPE_AT_THE_LIMIT = 9.5
RPE_PER_HEADROOM = 12.5

# --- Numbers a coach can call (common practice) ---
NEAR_PRESCRIPTION = 0.08  # a dose so near to the prescription is the prescription
ROUNDING_HEADROOM = 0.05  # of the headroom that rounding up may use
LEAST_SHARE = 0.5  # of the dose: the least useful dose where the coach wrote no range

# --- What nobody was ever tested on: the coach's dose is the anchor ---
ANCHOR_FITNESS = 0.8416  # z-score of the 80th percentile of general fitness, for whom the dose is just right
ANCHOR_SD = 0.35  # between athletes, in the log

# --- Rung: of those that reach no useful dose, the easiest of so near the closest (ours) ---
NEARLY_AS_CLOSE = 0.8

# --- Cautions ---
UNTESTED_SHARE = 2.0 / 3.0  # of the dose at most (boards written by hand: 0.55 to 0.77 on a first day)

# --- What a circuit may be (ours) ---
INTERVAL_BOUNDS_S = (20.0, 900.0)
ROTATION_BOUNDS = (1, 40)
HEADROOM_BOUNDS = (0.0, 0.9)
DEFAULT_INTERVAL_S = 60.0
PARTNERS = (1, 2)  # athletes who take turns at a station
DEFAULT_HEADROOM = 0.10
SCALINGS = ("dose", "rounds")
FORMATS = ("every", "for_time", "as_many")
LIMIT_BOUNDS_S = (60.0, 7200.0)

# --- Rungs ---
REST = -1  # the rung of a station at which an athlete does nothing
NO_PIN = -2  # in `Room.pinned_rung`: nothing is set by hand here

ROUNDING_SLACK = 1e-6  # of one step: forgives the floating point, never a real shortfall
