"""The rollout under way: its row, what it rolls out, its machine; and the row after each thing that the machine did."""

import json
from dataclasses import dataclass

from hub.rollout.machine import RolloutMachine
from hub.rollout.machine_actions import RolloutHalted
from hub.rollout.models import Rollout, RolloutState
from hub.rollout.snapshot import Prepared
from hub.rollout.undertaking import changed_row
from hub.rollout.view import refusals_json


@dataclass(slots=True)
class UnderWay:
    """`machine` is None until the hub has heard its nodes."""

    row: Rollout
    prepared: Prepared
    machine: RolloutMachine | None = None
    told_staged: int = -1

    @property
    def decided(self) -> bool:
        """It is in force, and only its show time is still to pass."""
        return self.row.state is RolloutState.TAKEN


def counted(row: Rollout, machine: RolloutMachine) -> Rollout:
    """With the nodes that hold it by now."""
    return changed_row(row, nodes_staged=machine.nodes_staged, nodes_expected=machine.nodes_expected)


def stepped(row: Rollout, machine: RolloutMachine, now_s: float) -> Rollout:
    """In the machine's state."""
    ended_at_ms = ms(now_s) if machine.state is RolloutState.TAKEN else None
    return changed_row(counted(row, machine), state=machine.state, paused=machine.paused, ended_at_ms=ended_at_ms)


def taken(row: Rollout, machine: RolloutMachine, now_s: float) -> Rollout:
    """With the take of a batch."""
    return changed_row(
        stepped(row, machine, now_s),
        take_at_ms=ms(machine.takes_s[-1]),
        takes_ms=json.dumps([ms(at_s) for at_s in machine.takes_s]),
        refusals=refusals_json(machine.left_out.values()),
    )


def stopped(row: Rollout, machine: RolloutMachine | None, action: RolloutHalted, reason: str, now_s: float) -> Rollout:
    """Halted."""
    return changed_row(
        row if machine is None else counted(row, machine),
        state=RolloutState.HALTED,
        ended_at_ms=ms(now_s),
        paused=False,
        reason=reason,
        refusals=refusals_json(action.refusals),
    )


def ms(now_s: float) -> int:
    """Show time as rows keep it."""
    return round(now_s * 1_000)
