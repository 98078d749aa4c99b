"""How a circuit and the athletes' capacities become targets. Pure: numpy and the standard library only."""
