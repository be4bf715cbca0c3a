"""`stringcourse audit`: each supply's budget against what its pixels may draw, in figures and words."""

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.printing import print_json, print_table, say

_WORDS = {"within": "within", "only-under-budget": "only under budget", "overloaded": "OVERLOADED"}


def audit(venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """Audit every supply of a venue: rating, budget, worst case, scene peak, typical, what telemetry told, verdict.

    Worst case: every emitter full. Scene peak: the highest instant of the scene in force, before the budget limiter.
    Typical: the trade's rule of thumb. The three are never mixed up.
    """
    with HubClient(hub) as client:
        answer = client.get(path_of("venues", chosen_venue(client, venue), "audit"))
    if as_json:
        print_json(answer)
        return
    columns = (
        "supply", "V", "rated A", "budget A", "worst case A", "scene peak A", "typical A",
        "highest told A", "now A", "pixels", "verdict",
    )  # fmt: skip
    rows = [
        (
            one["supply"],
            one["volts"],
            one["rated_a"],
            one["budget_a"],
            _rounded(one["worst_case_a"]),
            _rounded(one["scene_peak_a"]),
            _rounded(one["typical_a"]),
            _rounded(one["telemetry_highest_a"]),
            _rounded(one["telemetry_now_a"]),
            one["pixels"],
            _WORDS.get(one["verdict"], one["verdict"]),
        )
        for one in answer["supplies"]
    ]
    print_table(columns, rows)
    say()
    say("Why:")
    for one in answer["supplies"]:
        say(f"  {one['supply']}: {one['reason']}.")
    say()
    print_table(
        ("node", "supplies", "pixels", "worst case A", "worst case W", "typical A", "typical W"),
        [
            (
                node["node"],
                ", ".join(node["supplies"]),
                node["pixels"],
                _rounded(node["worst_case_a"]),
                _rounded(node["worst_case_w"]),
                _rounded(node["typical_a"]),
                _rounded(node["typical_w"]),
            )
            for node in answer["nodes"]
        ],
    )
    say()
    total = answer["venue"]
    peak = "none in force" if total["scene_peak_w"] is None else f"{total['scene_peak_w']:.0f} W"
    say(
        f"Venue: {total['supplies']} supplies, {total['nodes']} nodes, {total['pixels']} pixels; DC side: "
        f"rated {total['rated_w']:.0f} W, budget {total['budget_w']:.0f} W, worst case {total['worst_case_w']:.0f} W, "
        f"scene peak {peak}, typical {total['typical_w']:.0f} W."
    )
    say(
        f"Verdicts: {total['within']} within, {total['only_under_budget']} only under budget, "
        f"{total['overloaded']} overloaded."
    )
    say()
    say("Caution:")
    for caution in answer["cautions"]:
        say(f"  {caution}")


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 2)
