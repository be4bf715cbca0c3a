"""The hub's MQTT connection."""
