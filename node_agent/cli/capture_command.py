"""`stringcourse-node capture`: reads capture files back and says what the board put on its wires."""

import argparse
import dataclasses
import json
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from node_agent.outputs.capture_summary import CaptureSummary, summarise
from node_agent.outputs.output import OutputError

_EPILOG: Final = """\
example, on the folder that `start --capture FOLDER` or `try --capture FILE` has written:
  stringcourse-node capture FOLDER"""


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser(
        "capture",
        help="say what a board put on its wires",
        description="Reads capture files back: revisions shown, longest gap between frames, highest amps of a frame.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "paths", type=Path, nargs="+", metavar="PATH", help="a capture file, or the folder of a board's captures"
    )
    parser.add_argument(
        "--since", type=float, default=0.0, metavar="SECONDS", help="only frames written from this Unix time on"
    )
    parser.add_argument("--json", action="store_true", help="print JSON for programs, a line for each PATH")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    told: list[str] = []
    for path in options.paths:
        files = sorted(path.glob("*.capture")) if path.is_dir() else [path]
        if not files:
            print(f"PATH: no capture files in {path}; name the folder given to --capture", file=sys.stderr)
            return 2
        try:
            summary = summarise(files, options.since)
        except OutputError as error:
            print(error, file=sys.stderr)
            return 2
        if options.json:
            told.append(json.dumps(dataclasses.asdict(summary)))
        else:
            told += [f"{path}:"] if len(options.paths) > 1 else []
            told.append(_in_words(summary))
    print("\n".join(told))
    return 0


def _in_words(summary: CaptureSummary) -> str:
    lines = [
        f"{summary.frames} frames; longest gap {summary.longest_gap_s * 1000:.0f} ms; "
        f"highest frame {summary.highest_a:.3f} A (estimate)"
    ]
    for shown in summary.revisions:
        name = "no revision" if shown.revision is None else f"revision {shown.revision}"
        since = datetime.fromtimestamp(shown.first_written_at_s, UTC).isoformat(timespec="milliseconds")
        lines.append(f"  {name}: {shown.frames} frames from {since}")
    return "\n".join(lines)
