"""The bridge between rows and arrays: a frozen circuit and people in, targets out. The only place both worlds meet."""
