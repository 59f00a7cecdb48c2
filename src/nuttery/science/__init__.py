"""Pure functions over arrays: no disk, clock, network or framework."""
