"""Show time on a board: exchanges, the filter that reads them, how it is steered, and what a wall clock is worth."""

from node_agent.clock.kept import KeptClock
from node_agent.clock.sample import clock_sample
from node_agent.clock.show_clock import ShowClock
from node_agent.clock.steering import SLEW_RATE, STEP_THRESHOLD_S

__all__ = ["SLEW_RATE", "STEP_THRESHOLD_S", "KeptClock", "ShowClock", "clock_sample"]
