"""How long the steps of a rollout may take."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RolloutTiming:
    """Seconds, but for the counts."""

    answer_s: float = 10.0
    """An online node must stage or refuse within this, counted from the start or from when it came online."""
    limit_s: float = 30.0
    """Staging of a batch ends by then, whatever nodes come and go."""
    at_once_s: float = 1.5
    """The same where something must show at once; whoever has not answered by then is left out."""
    restage_s: float = 2.0
    restage_per_node_s: float = 0.001
    """A node that has not answered gets its document again: a subscription at QoS 0 may lose one. Later in a large
    fleet, whose answers take time to come in."""
    restage_batch: int = 200
    gather_s: float = 0.5
    """After a first refusal, how long others may still name theirs, so that all are mended at once."""
    repeat_take_s: float = 0.1
    repeat_take_per_node_s: float = 0.00015
    """The take is repeated no oftener than the broker can bring it to all."""
    margin_s: float = 0.6
    margin_per_node_s: float = 0.0003
    """The take lies `margin_s` + `margin_per_node_s` × nodes ahead: 2,000 nodes had it within 0.34 s."""
    at_once_margin_s: float = 0.3
    """`margin_s` where something must show at once."""
    after_take_s: float = 0.3
    """Nodes whose clock is a little behind get this long to show the take before another rollout may follow."""
    settle_s: float = 1.0
    """Nothing starts before the hub has listened to the venue for this long: who is on must be known."""
    longest_settle_s: float = 10.0
    """The same while nodes are announced online but have not spoken yet."""
