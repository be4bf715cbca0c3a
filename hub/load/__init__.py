"""How many amps each supply carried, and for how long."""
