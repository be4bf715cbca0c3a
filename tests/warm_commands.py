"""What the server of warm processes imports once, for all that it forks: both command lines, whole."""

from collections.abc import Callable, Mapping

from hub.cli import application, main
from node_agent.cli import main as board_main

application()  # Each command's module is imported when it is named; here all of them are.

PROGRAMS: Mapping[str, Callable[[], int | None]] = {"stringcourse": main, "stringcourse-node": board_main}
