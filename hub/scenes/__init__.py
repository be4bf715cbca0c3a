"""Scenes: list, preview, the elevation and its live frames."""
