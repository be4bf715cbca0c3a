"""What tests start ends with them, even when the test's own process is killed."""

import subprocess
import sys

import psutil

from tests.processes import wait_until

STARTS_ONE = """
import sys, time
from pathlib import Path
from tests.processes import RealProcess
print(RealProcess([sys.executable, "-c", "import time; time.sleep(600)"], Path("/dev/null")).pid, flush=True)
time.sleep(600)
"""


def test_process_of_a_killed_test_run_ends() -> None:
    run = subprocess.Popen([sys.executable, "-c", STARTS_ONE], stdout=subprocess.PIPE, text=True)
    assert run.stdout is not None
    with run.stdout:
        child = psutil.Process(int(run.stdout.readline()))
    run.kill()
    run.wait(10)
    wait_until(lambda: not child.is_running() or child.status() == psutil.STATUS_ZOMBIE, 10, "the child's end")
