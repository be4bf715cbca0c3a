"""The operator's command line, `stringcourse`: one file per command group."""

from hub.cli.application import app, main

__all__ = ["app", "main"]
