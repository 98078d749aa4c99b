"""What `athletes` tells and asks whoever listens: it knows nothing of classes and logs."""

from django.dispatch import Signal

# In the transaction that changes it: machines on the floor, or who takes part under which name on the board.
room_changed = Signal()
# With `athletes` and a `day`: who of them is back from a break that the logs show, as {athlete id: first day back}.
breaks_asked = Signal()
