"""The audit of supplies."""
