"""What the server of warm processes imports once, for all that it forks: both command lines, whole."""

import contextlib
from collections.abc import Callable


def load_entry_point(program: str) -> Callable[[], int | None]:
    """What the console script `program` calls."""
    if program == "stringcourse":
        from hub.cli import main

        return main
    from node_agent.cli import main as main_of_board

    return main_of_board


with contextlib.suppress(ImportError):  # it is told by the process that needs it
    load_entry_point("stringcourse-node")
    load_entry_point("stringcourse")
    from hub.cli import application

    application()  # Each command's module is imported when it is named; here all of them are.
