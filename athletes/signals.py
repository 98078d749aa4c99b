"""What `athletes` tells whoever listens: it knows nobody of those who show it."""

from django.dispatch import Signal

# In the transaction that changes it: machines on the floor, or who takes part under which name on the board.
room_changed = Signal()
