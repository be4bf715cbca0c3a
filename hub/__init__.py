"""The service that knows every board, channel and supply of a venue."""
