"""`stringcourse-node try`: lights one run from the command line, with neither hub nor broker."""

import argparse


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("try", help="light one run, with neither hub nor broker")
    parser.set_defaults(run=run)


def run(_options: argparse.Namespace) -> int:
    return 0
