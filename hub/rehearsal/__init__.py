"""The rehearsal: a hub and one agent process per node, and its self-check."""
