"""`stringcourse-node start`: runs the board's agent until it is told to stop."""

import argparse
import logging
import signal
import stat
import sys
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from node_agent.agent import Agent
from node_agent.board import PIXEL_LAYERS_LIMIT, RehearsalBoard, SpiBoard
from node_agent.inbox import Stopping
from node_agent.store import Store, StoreError
from schemas import NodeCredential
from schemas.bounds import MAX_MESSAGE_BYTES, OUTPUTS_PER_NODE

_SWITCH_INTERVAL_S: Final = 0.001  # how long the frame loop may wait for another thread to let the interpreter go

_DESCRIPTION: Final = """\
Runs the agent of this board: connects to the venue's broker, stages and takes revisions, lights the runs within their
budgets, and reports. Before it has a network, and without one, it shows what it holds and takes by itself what its
timetable brings. SIGTERM or Ctrl-C ends it cleanly: it says that it goes, and every pixel goes dark."""

_EPILOG: Final = """\
on a board:
  stringcourse-node start --credential /etc/stringcourse/node.json --state /var/lib/stringcourse
as a rehearsal, without pixels:
  stringcourse-node start --credential bay-01.json --state state/bay-01 --capture capture/bay-01

The credential is the file that the hub writes for each node. Keep it at mode 0600."""


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser(
        "start",
        help="run the agent of this board",
        description=_DESCRIPTION,
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--credential", type=Path, required=True, metavar="FILE", help="this node's credential (JSON)")
    parser.add_argument(
        "--state",
        type=Path,
        required=True,
        metavar="DIR",
        help="what must survive a power cut is kept here; made if it is missing",
    )
    parser.add_argument(
        "--capture",
        type=Path,
        metavar="DIR",
        help="rehearse: write each channel to DIR/channel-N.capture, not to a pin",
    )
    parser.add_argument(
        "--outputs",
        type=_outputs,
        default=OUTPUTS_PER_NODE,
        metavar="N",
        help=f"data outputs of this board, 1 to {OUTPUTS_PER_NODE} (default: %(default)s)",
    )
    parser.add_argument(
        "--pixel-layers-at-most",
        type=_positive,
        default=PIXEL_LAYERS_LIMIT,
        metavar="N",
        help="refuse a scene that covers more pixels x layers than this board renders in time (default: %(default)s)",
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    try:
        credential = read_credential(options.credential)
    except CredentialError as error:
        print(f"stringcourse-node start: {error}", file=sys.stderr)
        return 1
    return _run_agent(credential, options)


class CredentialError(Exception):
    """The credential cannot be used. The message names file, fault and remedy."""

    def __init__(self, path: Path, reason: str, remedy: str) -> None:
        super().__init__(f"credential {path}: {reason}; {remedy}")


def read_credential(path: Path) -> NodeCredential:
    """Reads and checks the credential. Raises CredentialError; never repeats the secret."""
    try:
        mode = path.stat().st_mode
        if stat.S_IMODE(mode) & 0o077:
            raise CredentialError(path, f"others may read it (mode {stat.S_IMODE(mode):04o})", f"chmod 600 {path}")
        with path.open("rb") as file:
            content = file.read(MAX_MESSAGE_BYTES + 1)
    except OSError as error:
        raise CredentialError(
            path, error.strerror or str(error), "name the file that the hub wrote for this node"
        ) from error
    try:
        return NodeCredential.model_validate_json(content)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False, include_context=False)[0]
        field = ".".join(str(part) for part in first["loc"]) or "file"
        raise CredentialError(
            path, f"{field}: {first['msg']}", "fetch the node's credential from the hub again"
        ) from None


def _run_agent(credential: NodeCredential, options: argparse.Namespace) -> int:
    logging.basicConfig(level=logging.INFO, stream=sys.stderr, format="%(asctime)s %(levelname)s %(message)s")
    limits = {"outputs": options.outputs, "pixel_layers_limit": options.pixel_layers_at_most}
    board = RehearsalBoard(options.capture, **limits) if options.capture else SpiBoard(**limits)
    try:
        if options.capture:
            options.capture.mkdir(parents=True, exist_ok=True)
        agent = Agent(credential, Store(options.state), board)
    except (OSError, StoreError) as error:
        print(f"stringcourse-node start: {error}", file=sys.stderr)
        return 1
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda caught, _frame: agent.inbox.put(Stopping(signal.Signals(caught).name)))
    sys.setswitchinterval(_SWITCH_INTERVAL_S)
    agent.run()
    return 0


def _outputs(text: str) -> int:
    value = _positive(text)
    if value > OUTPUTS_PER_NODE:
        raise argparse.ArgumentTypeError(f"a node has 1 to {OUTPUTS_PER_NODE} outputs, not {text}")
    return value


def _positive(text: str) -> int:
    try:
        value = int(text)
    except ValueError:
        value = 0
    if value < 1:
        raise argparse.ArgumentTypeError(f"a whole number from 1 upwards, not {text!r}")
    return value
