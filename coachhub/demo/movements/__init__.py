"""What the demo gym's stations ask for, with cues in the gym's own words."""

from coachhub.demo.movements.body import BODY
from coachhub.demo.movements.engines import ENGINES
from coachhub.demo.movements.loads import LOADS

MOVEMENTS = [*ENGINES, *BODY, *LOADS]
