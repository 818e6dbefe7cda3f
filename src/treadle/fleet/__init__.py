"""Plain frozen records of units and readings, and the walk-around file they come from."""
