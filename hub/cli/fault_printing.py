"""A search for a fault in words: the question that stands, its answers, the diagnosis."""

from typing import Any

from hub.cli.printing import print_table, say
from hub.cli.times import local_time


def say_search(search: dict[str, Any]) -> None:
    """What the hub knows, what was answered, and where the search stands."""
    say_head(search)
    for step in search["steps"]:
        by = "the hub" if step["hub"] else step["by"] or "somebody"
        taken_back = " (taken back)" if step["taken_back"] else ""
        note = f"; {step['note']}" if step["note"] else ""
        say(f"  {local_time(step['at_ms'])} {step['question']} {step['words']}, says {by}{note}{taken_back}")
    say_standing(search)


def say_head(search: dict[str, Any]) -> None:
    """Which search it is, and what the hub knows of node and run."""
    channel = "" if search["channel"] is None else f", channel {search['channel']}"
    say(f"search {search['id']}: {search['node']}{channel}: {search['title']}")
    for fact in search["facts"]:
        say(f"  known: {fact}")


def say_standing(search: dict[str, Any]) -> None:
    """The question or the diagnosis, cautions before anything else; or how it ended."""
    if search["stuck"] is not None:
        say(f"it cannot go on: {search['stuck']}")
    elif search["question"] is not None:
        _say_question(search["question"])
    elif search["diagnosis"] is not None:
        _say_diagnosis(search["diagnosis"])
    if search["ended_at_ms"] is not None:
        mended = {True: ", mended", False: ", not mended", None: ""}[search["mended"]]
        note = f": {search['note']}" if search["note"] else ""
        say(f"ended {local_time(search['ended_at_ms'])} by {search['ended_by'] or 'somebody'}{mended}{note}")


def say_hub_answers(search: dict[str, Any], known: int) -> None:
    """What the hub answered by itself since there were `known` steps."""
    for step in search["steps"][known:]:
        if step["hub"]:
            say(f"  {step['question']} {step['words']}.")


def _say_question(question: dict[str, Any]) -> None:
    say()
    for caution in question["cautions"]:
        say(f"! {caution}")
    pattern = question["pattern"]
    if pattern is not None:
        state = "is not shown: " + pattern["not_shown"] if pattern["not_shown"] else "is on for two minutes"
        say(f"The pattern {pattern['pattern']} {state}.")
        say(f"A sound run shows: {pattern['sound']}")
    say(question["question"])
    say(f"  {question['look']}")
    for number, choice in enumerate(question["choices"], 1):
        say(f"  {number}  {choice['words']}  [{choice['answer']}]")


def _say_diagnosis(diagnosis: dict[str, Any]) -> None:
    say()
    for caution in diagnosis["cautions"]:
        say(f"! {caution}")
    say(f"{diagnosis['title']}.")
    say(f"  most likely: {diagnosis['likely']}")
    say(f"  prove it: {diagnosis['proof']}")
    say(f"  then: {diagnosis['remedy']}")
    say(f"  this rests on: {diagnosis['source']}")
    say()
    rows = [(item["what"], item["size"], item["source"]) for item in diagnosis["carry"]]
    print_table(("carry", "size", "from"), rows)
    for choice in diagnosis["choices"]:
        say(f"  {choice['words']}  [{choice['answer']}]")
