"""From what was drawn to kilowatt-hours and cost; as CSV, too. Pure.

1 W·h is 3.6 kJ and 1 A·h 3.6 kC, by the SI's definitions (SI Brochure, 9th edition, table 8: 1 h = 3,600 s); volts ×
amp-hours are therefore watt-hours.
"""

import csv
import io
from collections.abc import Sequence
from datetime import date
from typing import Final

from hub.energy.table import EnergyBy, EnergySum
from hub.energy.view import EnergyAccount, EnergyFigures, EnergyRow
from schemas import Tariff

NOTES: Final = (
    "Boards count the charge of every frame that they show, by the pixel types' currents: an estimate, not a meter.",
    "DC energy is charge × the volts that the supply was said to have when it was drawn; sag and the copper's losses "
    "are in it.",
    "Mains energy is at the efficiency that the supply is said to have now; a supply's draw without load is not in it.",
    "Days are those of the time zone that the venue stated when it was counted. Charge that reached the hub later than "
    "it was drawn is spread evenly over the time it covers.",
    "What pixels hold while their board's agent is not running is not counted. Kept for 3 years.",
)
COLUMNS: Final = ("amp_h", "dc_kwh", "mains_kwh", "cost", "currency", "hours")


def account_of(
    sums: Sequence[EnergySum], first: date, last: date, by: EnergyBy, tariff: Tariff | None, time_zone: str
) -> EnergyAccount:
    """The account of the days `first` to `last`, both counted."""
    total = EnergySum(
        "total",
        sum(one.amp_h for one in sums),
        sum(one.watt_h for one in sums),
        sum(one.mains_watt_h for one in sums),
        sum(one.hours for one in sums),
    )
    return EnergyAccount(
        first_day=first,
        last_day=last,
        time_zone=time_zone,
        by=by,
        currency=None if tariff is None else tariff.currency,
        per_kwh=None if tariff is None else tariff.per_kwh,
        rows=[EnergyRow(name=one.name, **_figures(one, tariff).model_dump()) for one in sums],
        total=_figures(total, tariff),
        notes=list(NOTES),
    )


def csv_of(account: EnergyAccount) -> str:
    """The rows without the total, as RFC 4180 says: a header, CRLF after each line. Empty where nothing is known."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow((account.by.value, *COLUMNS))
    for row in account.rows:
        writer.writerow((row.name, row.amp_h, row.dc_kwh, row.mains_kwh, row.cost, account.currency, row.hours))
    return text.getvalue()


def _figures(one: EnergySum, tariff: Tariff | None) -> EnergyFigures:
    mains_kwh = one.mains_watt_h / 1_000
    return EnergyFigures(
        amp_h=round(one.amp_h, 6),
        dc_kwh=round(one.watt_h / 1_000, 9),
        mains_kwh=round(mains_kwh, 9),
        cost=None if tariff is None else round(mains_kwh * tariff.per_kwh, 6),
        hours=round(one.hours, 6),
    )
