"""What the exit code of a command says, so that programs can tell a "no" from a failure."""

from enum import IntEnum


class ExitCode(IntEnum):
    """Exit codes of every command."""

    OK = 0
    NO = 1
    BAD_INPUT = 2
    NOT_REACHABLE = 3
    NOT_AUTHORISED = 4
    NOT_FOUND = 5
    CONFLICT = 6
    HUB_FAILED = 7


MEANINGS = {
    ExitCode.OK: "done, or the answer is yes",
    ExitCode.NO: "the answer is no, or a check failed",
    ExitCode.BAD_INPUT: "wrong use, or the input has mistakes",
    ExitCode.NOT_REACHABLE: "the hub, or a part that it needs, cannot be reached",
    ExitCode.NOT_AUTHORISED: "no token, or one that the hub does not know",
    ExitCode.NOT_FOUND: "nothing has that id",
    ExitCode.CONFLICT: "the hub is in a state that forbids it, or someone changed it first",
    ExitCode.HUB_FAILED: "the hub failed; its log says why",
}
