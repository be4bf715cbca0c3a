"""What the nodes said, and the one thread that applies it."""
