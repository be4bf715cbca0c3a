"""Rules of days against the examples of RFC 5545 §3.8.5.3, whose starts are given here as dates."""

from datetime import date

import pytest

from hub.timetable.rule import RuleError, check_rule, days_of_rule

FAR = date(2007, 12, 31)
WEEKDAYS = "MO,TU,WE,TH,FR"


def days(rule: str, first_day: str, count: int) -> list[str]:
    """The first `count` days of a rule, as month-day, with the year where it changes."""
    found = days_of_rule(rule, date.fromisoformat(first_day), date(1996, 1, 1), FAR)[:count]
    return [day.isoformat() for day in found]


def dates(text: str) -> list[str]:
    """`1997-09-02 10-02 1998-01-02`: the year counts on until another is given."""
    found: list[str] = []
    for word in text.split():
        found.append(word if len(word) == 10 else f"{found[-1][:4]}-{word}")
    return found


@pytest.mark.parametrize(
    ("rule", "first_day", "expected"),
    [
        ("FREQ=DAILY;COUNT=10", "1997-09-02", "1997-09-02 09-03 09-04 09-05 09-06 09-07 09-08 09-09 09-10 09-11"),
        ("FREQ=DAILY;INTERVAL=10;COUNT=5", "1997-09-02", "1997-09-02 09-12 09-22 10-02 10-12"),
        ("FREQ=WEEKLY;COUNT=5;WKST=SU;BYDAY=TU,TH", "1997-09-02", "1997-09-02 09-04 09-09 09-11 09-16"),
        # The two that differ by the first day of the week only.
        ("FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO", "1997-08-05", "1997-08-05 08-10 08-19 08-24"),
        ("FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU", "1997-08-05", "1997-08-05 08-17 08-19 08-31"),
        (
            "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
            "1997-09-05",
            "1997-09-05 10-03 11-07 12-05 1998-01-02 02-06 03-06 04-03 05-01 06-05",
        ),
        ("FREQ=MONTHLY;COUNT=6;BYDAY=-2MO", "1997-09-22", "1997-09-22 10-20 11-17 12-22 1998-01-19 02-16"),
        ("FREQ=MONTHLY;BYMONTHDAY=-3", "1997-09-28", "1997-09-28 10-29 11-28 12-29 1998-01-29 02-26"),
        (
            "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1",
            "1997-09-30",
            "1997-09-30 10-01 10-31 11-01 11-30 12-01 12-31 1998-01-01 01-31 02-01",
        ),
        ("FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", "2007-01-15", "2007-01-15 01-30 02-15 03-15 03-30"),
        (
            f"FREQ=MONTHLY;BYDAY={WEEKDAYS};BYSETPOS=-2",
            "1997-09-29",
            "1997-09-29 10-30 11-27 12-30 1998-01-29 02-26 03-30",
        ),
        ("FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3", "1997-09-04", "1997-09-04 10-07 11-06"),
        (
            "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13",
            "1997-09-02",
            "1998-02-13 03-13 11-13 1999-08-13 2000-10-13",
        ),
        (
            "FREQ=MONTHLY;BYDAY=SA;BYMONTHDAY=7,8,9,10,11,12,13",
            "1997-09-13",
            "1997-09-13 10-11 11-08 12-13 1998-01-10 02-07 03-07 04-11 05-09 06-13",
        ),
        ("FREQ=YEARLY;COUNT=4;BYMONTH=6,7", "1997-06-10", "1997-06-10 07-10 1998-06-10 07-10"),
        (
            "FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
            "1997-01-01",
            "1997-01-01 04-10 07-19 2000-01-01 04-09 07-18 2003-01-01 04-10 07-19 2006-01-01",
        ),
        ("FREQ=YEARLY;BYDAY=20MO", "1997-05-19", "1997-05-19 1998-05-18 1999-05-17"),
        ("FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO", "1997-05-12", "1997-05-12 1998-05-11 1999-05-17"),
        ("FREQ=YEARLY;BYMONTH=3;BYDAY=TH", "1997-03-13", "1997-03-13 03-20 03-27 1998-03-05 03-12 03-19 03-26"),
        (
            "FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8",
            "1996-11-05",
            "1996-11-05 2000-11-07 2004-11-02",
        ),
    ],
)
def test_examples_of_the_standard(rule: str, first_day: str, expected: str) -> None:
    wanted = dates(expected)
    assert days(rule, first_day, len(wanted)) == wanted


def test_every_day_in_january_by_two_rules_of_the_standard() -> None:
    yearly = "FREQ=YEARLY;UNTIL=20000131;BYMONTH=1;BYDAY=SU,MO,TU,WE,TH,FR,SA"
    daily = "FREQ=DAILY;UNTIL=20000131;BYMONTH=1"
    assert days(yearly, "1998-01-01", 200) == days(daily, "1998-01-01", 200)
    assert len(days(daily, "1998-01-01", 200)) == 3 * 31


def test_what_a_rule_leaves_open_comes_from_its_start() -> None:
    # §3.3.10: without BYDAY a week has the day of the start, here a Monday.
    assert days("FREQ=YEARLY;BYWEEKNO=20", "1997-05-12", 2) == ["1997-05-12", "1998-05-11"]


@pytest.mark.parametrize(
    ("rule", "word"),
    [
        # §3.3.10 names each of these as what must not be.
        ("FREQ=WEEKLY;BYMONTHDAY=1", "BYMONTHDAY"),
        ("FREQ=MONTHLY;BYYEARDAY=100", "BYYEARDAY"),
        ("FREQ=MONTHLY;BYWEEKNO=20", "BYWEEKNO"),
        ("FREQ=WEEKLY;BYDAY=1MO", "BYDAY"),
        ("FREQ=YEARLY;BYWEEKNO=20;BYDAY=1MO", "BYDAY"),
        ("FREQ=DAILY;COUNT=3;UNTIL=19971224", "COUNT"),
        ("FREQ=DAILY;BYSETPOS=1", "BYSETPOS"),
        ("BYDAY=MO", "FREQ"),
    ],
)
def test_what_the_standard_forbids_is_refused_by_name(rule: str, word: str) -> None:
    with pytest.raises(RuleError, match=word):
        check_rule(rule, date(1997, 9, 2))
