"""The agent's version, as the installed distribution states it."""

import importlib.metadata


def agent_version() -> str:
    try:
        return importlib.metadata.version("stringcourse")[:32]
    except importlib.metadata.PackageNotFoundError:  # run from a checkout
        return "0"
