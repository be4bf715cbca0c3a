"""Rules of days: what is refused and why, what no rule can do, and the same days in any window."""

import time
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hub.timetable.rule import RuleError, check_rule, days_of_rule

START = date(2026, 1, 5)


@pytest.mark.parametrize(
    ("rule", "reason", "remedy"),
    [
        ("FREQ=HOURLY", "FREQ is 'HOURLY'", "DAILY, WEEKLY, MONTHLY or YEARLY"),
        ("FREQ=DAILY;BYHOUR=8", "'BYHOUR=8'", "BYMONTHDAY"),
        ("FREQ=DAILY;INTERVAL=0", "INTERVAL is '0'", "1 to 999"),
        ("FREQ=DAILY;BYMONTH=13", "BYMONTH is '13'", "1 to 12"),
        ("FREQ=DAILY;FREQ=DAILY", "FREQ twice", "once"),
        ("FREQ=DAILY;UNTIL=20310230", "UNTIL is '20310230'", "20311224"),
        ("FREQ=DAILY;UNTIL=20250101", "no day", "parts"),
        ("FREQ=MONTHLY;BYDAY=6FR", "beyond a month", "5FR"),
        ("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "no day", "30 February"),
        ("-", "'-'", "FREQ"),
    ],
)
def test_refused_rule_names_the_part_and_the_remedy(rule: str, reason: str, remedy: str) -> None:
    with pytest.raises(RuleError) as refused:
        check_rule(rule, START)
    assert reason in refused.value.reason
    assert remedy in refused.value.remedy


def test_rule_that_would_count_from_long_ago_is_refused() -> None:
    with pytest.raises(RuleError, match="0001-01-01"):
        check_rule("FREQ=DAILY", date(1, 1, 1))


def test_last_day_of_until_counts() -> None:
    found = days_of_rule("FREQ=DAILY;UNTIL=20260107", START, date(2026, 1, 1), date(2026, 2, 1))
    assert found == [START, date(2026, 1, 6), date(2026, 1, 7)]


@pytest.mark.parametrize("rule", ["FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30", "FREQ=WEEKLY;BYMONTH=2;BYDAY=MO;BYSETPOS=5"])
def test_rule_without_days_ends_soon(rule: str) -> None:
    began_s = time.process_time()
    assert days_of_rule(rule, START, START, date(2027, 1, 1)) == []
    assert time.process_time() - began_s < 5  # looked for until the year 9999 it would be far more


NUMBERS = st.lists(st.integers(-53, 53).filter(bool).map(str), min_size=1, max_size=3).map(",".join)
PARTS = {
    "INTERVAL": st.integers(1, 30).map(str),
    "COUNT": st.integers(1, 50).map(str),
    "UNTIL": st.dates(START, date(2040, 1, 1)).map(lambda day: f"{day:%Y%m%d}"),
    "BYMONTH": st.integers(1, 12).map(str),
    "BYMONTHDAY": NUMBERS,
    "BYYEARDAY": NUMBERS,
    "BYWEEKNO": NUMBERS,
    "BYDAY": st.lists(st.sampled_from(["MO", "SU", "1FR", "-1SU", "53MO", "5TU"]), min_size=1).map(",".join),
    "BYSETPOS": NUMBERS,
    "WKST": st.sampled_from(["MO", "SU"]),
}
RULES = st.builds(
    lambda frequency, parts: ";".join([f"FREQ={frequency}", *(f"{name}={value}" for name, value in parts.items())]),
    st.sampled_from(["DAILY", "WEEKLY", "MONTHLY", "YEARLY"]),
    st.fixed_dictionaries({}, optional=PARTS),
)


@settings(max_examples=150)
@given(rule=RULES, days_before=st.integers(0, 900), length=st.integers(0, 500))
def test_rule_is_refused_or_has_the_same_days_in_any_window(rule: str, days_before: int, length: int) -> None:
    try:
        check_rule(rule, START)
    except RuleError:
        return
    whole = days_of_rule(rule, START, START, date(2029, 12, 31))
    first = START + timedelta(days=days_before)
    last = first + timedelta(days=length)
    assert days_of_rule(rule, START, first, last) == [day for day in whole if first <= day <= last]
    assert whole == sorted(set(whole))
