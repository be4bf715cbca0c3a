"""From a printed page's HTML to PDF, one at a time, in a process of its own."""

import logging
import os
import subprocess
import sys
import threading
from pathlib import Path
from typing import Final

from hub.errors import UnavailableError
from hub.paper import pdf_child
from hub.parent_death import END_WITH_PARENT

LONGEST_S: Final = 120.0
"""Time that one PDF may take."""
LONGEST_WAIT_S: Final = 20.0
"""Time that a call waits for the PDFs before it."""

_log = logging.getLogger(__name__)
_one_at_a_time = threading.Semaphore(1)


def to_pdf(html: str, *, longest_s: float = LONGEST_S) -> bytes:
    """The PDF of `printed_page`'s HTML. Blocks: call it from a route that runs in the thread pool.

    Raises UnavailableError where Pango is missing, where it takes too long, or while others are being made.
    """
    if not _one_at_a_time.acquire(timeout=LONGEST_WAIT_S):
        raise UnavailableError(
            "other PDFs are being made; try again in a minute, or take the HTML, which prints the same"
        )
    try:
        # By path, so that the child does not import the hub; -P, so that no file beside it can pass for a package.
        finished = subprocess.run(  # noqa: S603 (our own program)
            [sys.executable, "-P", str(Path(pdf_child.__file__))],
            input=html.encode("utf-8", "replace"),
            capture_output=True,
            timeout=longest_s,
            check=False,
            env={key: value for key, value in os.environ.items() if not key.startswith("STRINGCOURSE_")},
            preexec_fn=END_WITH_PARENT,
        )
    except subprocess.TimeoutExpired as error:
        raise UnavailableError(
            f"the PDF took longer than {longest_s:g} s; ask for fewer pages at once, or take the HTML, which prints "
            "the same"
        ) from error
    finally:
        _one_at_a_time.release()
    if finished.returncode == 0:
        return finished.stdout
    told = finished.stderr.decode("utf-8", "replace").strip()
    _log.warning("no PDF: %s", told[-2_000:])
    if finished.returncode == pdf_child.NO_PANGO:
        raise UnavailableError(
            "PDF needs Pango, which the hub's machine lacks; on Debian, as root: apt-get install libpango-1.0-0 "
            "libpangoft2-1.0-0 libharfbuzz-subset0. The HTML prints the same from a browser."
        )
    raise UnavailableError(
        "the PDF could not be made; the hub's log says why. The HTML prints the same from a browser."
    )
