"""The operator's command line, `stringcourse`: one file per command group."""

from hub.cli.application import application, main

__all__ = ["application", "main"]
