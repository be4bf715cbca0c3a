"""Energy that each node drew from each supply by day, counted from the boards' own counters."""
