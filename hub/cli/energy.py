"""`stringcourse energy`: what a venue drew, by supply, node or day, and what it cost."""

from pathlib import Path
from typing import Annotated, Any

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.files import write_whole
from hub.cli.printing import print_json, print_table, say
from hub.energy.table import EnergyBy

FirstDay = Annotated[
    str | None,
    typer.Option("--from", metavar="DAY", help="First local day, YYYY-MM-DD; without it 30 days up to the last."),
]
LastDay = Annotated[
    str | None, typer.Option("--to", metavar="DAY", help="Last local day, YYYY-MM-DD; without it today.")
]
CsvFile = Annotated[
    Path | None, typer.Option("--csv", metavar="FILE", help="Write the rows as CSV to FILE, or - for standard output.")
]


def energy(
    venue: VenueOption = None,
    first: FirstDay = None,
    last: LastDay = None,
    by: Annotated[EnergyBy, typer.Option(help="What each row is about.")] = EnergyBy.SUPPLY,
    csv: CsvFile = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Tell amp-hours, kilowatt-hours and their cost by supply, node or day.

    DC is charge × the supply's volts; mains is DC over the supply's efficiency; cost is mains × the venue's tariff.
    An estimate from the charge that the boards count frame by frame: no bill can be disputed with it.
    """
    if csv is not None and as_json:
        raise CommandError(ExitCode.BAD_INPUT, "--csv and --json exclude each other; leave one out")
    query = {"from": first, "to": last, "by": by.value}
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue))
        if csv is not None:
            write_whole({csv: client.call("GET", f"{path}/energy.csv", query=query).content})
            return
        account = client.get(f"{path}/energy", **query)
    if as_json:
        print_json(account)
    else:
        _print_account(account)


def _print_account(account: dict[str, Any]) -> None:
    say(f"{account['first_day']} to {account['last_day']} ({account['time_zone']})")
    if not account["rows"]:
        say("nothing was heard of in these days")
        return
    cost = "cost" if account["currency"] is None else f"cost {account['currency']}"
    columns = (account["by"], "Ah", "DC kWh", "mains kWh", cost, "hours")
    rows = [_row(one["name"], one) for one in account["rows"]]
    print_table(columns, [*rows, _row("total", account["total"])])
    say()
    if account["per_kwh"] is None:
        say("No cost: the venue states no tariff (`tariff: {currency: EUR, per_kwh: 0.30}` in its file).")
    else:
        say(f"Tariff: {account['per_kwh']} {account['currency']} per kWh.")
    for note in account["notes"]:
        say(note)


def _row(name: str, one: dict[str, Any]) -> tuple[object, ...]:
    cost = None if one["cost"] is None else round(one["cost"], 2)
    return (
        name,
        round(one["amp_h"], 2),
        round(one["dc_kwh"], 3),
        round(one["mains_kwh"], 3),
        cost,
        round(one["hours"], 1),
    )
