"""Machines with a flywheel, and running."""

from coachhub.demo.movements.entry import Entry

ENGINES = [
    Entry(
        name="Row",
        kind="engine",
        engine="row",
        machine="Rowing ergometer",
        setup_s=4,
        involvement={"pull": 0.6, "hinge": 0.5, "squat": 0.25, "trunk": 0.3, "grip": 0.3, "whole_body": 0.8},
        set_up="Strap across the widest part of the foot. Shins upright, arms long, back tall before the first stroke.",
        drive="Push with the legs first, then open the hips, then draw the handle to the lower ribs.",
        recovery="Hands away, lean from the hips, then let the knees bend. Twice as long as the drive.",
        look_for="Seat shooting back ahead of the handle: slow the first half of the drive.",
    ),
    Entry(
        name="Ski",
        kind="engine",
        engine="ski",
        machine="Ski ergometer",
        setup_s=4,
        involvement={"pull": 0.6, "hinge": 0.5, "trunk": 0.6, "grip": 0.3, "whole_body": 0.7},
        set_up="Stand far enough back to hinge freely, feet a little inside the shoulders, hands at eye height.",
        drive="Hinge and trunk start the pull, the arms finish it. The hands pass the hips.",
        recovery="Come back tall and unhurried, hands up the way they went down; breathe in on the way.",
        look_for="Triceps burn first: too little hinge. Knees bending deep: it has become a squat.",
    ),
    Entry(
        name="Fan bike",
        kind="engine",
        engine="bike",
        machine="Fan bike",
        setup_s=4,
        involvement={"pull": 0.25, "push": 0.25, "squat": 0.25, "whole_body": 0.8},
        set_up="Saddle at hip height, near enough that the elbow stays a little bent at full reach.",
        drive="Legs carry most of it; the arms push and pull in the same rhythm.",
        recovery="There is none while the fan turns: ease the arms first, then the legs.",
        look_for="Rocking shoulders and a racing start: it costs more than it brings. Settle by the fifth turn.",
    ),
    Entry(
        name="Run",
        kind="engine",
        engine="run",
        setup_s=5,
        involvement={"squat": 0.25, "whole_body": 0.7},
        set_up="Out by the yard door, along the mill race, back by the same way. Give way at the footbridge.",
        drive="Short quick steps, the foot landing under the hip.",
        recovery="Walk the last few metres back in; do not sit down.",
        look_for="Heels hitting far in front on the way down to the water: shorten the step.",
        caution="Wet cobbles by the race are slippery: run on the grass edge after rain.",
    ),
]
