"""How rollouts are told to the operator, in one sentence each. Pure."""

from hub.rollout.models import Rollout, RolloutState
from hub.rollout.view import batches_from, takes_from


def halted(row: Rollout, why: str, nodes: int, *, reverted_by: int | None) -> str:
    """Why it stopped, and what that left behind on `nodes` nodes; `reverted_by` puts back what was taken."""
    changed = sum(len(batch) for batch in batches_from(row.batches)[: len(takes_from(row.takes_ms))])
    if takes_from(row.takes_ms) and not batches_from(row.batches):
        changed = nodes
    return f"halted: {why}; {_left_behind(row, changed, nodes, reverted_by)}"


def reverted(row: Rollout, by: int) -> str:
    """The same, once a later revision has put back what was there before."""
    return f"{row.reason or f'revision {row.revision} was taken back'}; reverted by revision {by}"


def named(row: Rollout) -> str:
    """A rollout that is in the way of another."""
    scene = "darkness" if row.scene is None else f"scene {row.scene!r}"
    return f"revision {row.revision} ({scene}) is {step_of(row)}"


def stands_apart(revision: int) -> str:
    """Why nothing can be rolled out in batches just now."""
    return f"some nodes stand at revision {revision}, which was halted: revert it, or take a scene everywhere"


def step_of(row: Rollout) -> str:
    """Where it is, as the end of a sentence."""
    words = {
        RolloutState.PLANNED: "waiting for its turn",
        RolloutState.STAGING: "being staged",
        RolloutState.STAGED: "staged and waits",
        RolloutState.SOAKING: "taken in part and being watched",
        RolloutState.TAKEN: "about to be taken",
    }
    word = words.get(row.state, row.state.value)
    return f"{word}, and paused" if row.paused else word


def _left_behind(row: Rollout, changed: int, nodes: int, reverted_by: int | None) -> str:
    if changed == 0 and row.batches == "[]":
        return "nothing changed on any node"
    if changed == 0:
        return f"reverted: what was staged is withdrawn, and none of the {nodes} nodes ever changed"
    others = f"the other {nodes - changed} never changed" if nodes > changed else "there are no others"
    one = changed == 1
    if reverted_by is not None:
        goes = "1 node that had taken it goes back" if one else f"{changed} nodes that had taken it go back"
        return f"{goes} with revision {reverted_by}; {others}"
    keeps = "1 node keeps" if one else f"{changed} nodes keep"
    return f"{keeps} revision {row.revision} until it is reverted or another scene is taken; {others}"
