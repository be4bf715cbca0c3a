"""Wiring sheets: one for each node, for the person with the screwdriver."""
