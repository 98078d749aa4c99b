"""What an athlete can do, computed from benchmark efforts. Pure: numpy and the standard library only."""
