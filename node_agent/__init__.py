"""The agent that runs on a board: stages, takes, renders, limits, encodes, reports."""
