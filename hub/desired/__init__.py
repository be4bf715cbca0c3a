"""Desired state of nodes, compiled from a venue and a scene."""
