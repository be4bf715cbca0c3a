"""The broker: embedded and supervised, or the user's own; node credentials."""
