"""The ways out of a board, one a file, each behind the interface of `output.py`."""

from node_agent.outputs.capture import CapturedFrame, CaptureHeader, CaptureOutput, older_capture, read_capture
from node_agent.outputs.nrz import DecodedNrz, NrzEncoder, decode_nrz
from node_agent.outputs.nrz_symbol import NrzSymbol, choose_symbol
from node_agent.outputs.output import Output, OutputError, WireFrame
from node_agent.outputs.spi import SpiOutput, open_spi

__all__ = [
    "CaptureHeader",
    "CaptureOutput",
    "CapturedFrame",
    "DecodedNrz",
    "NrzEncoder",
    "NrzSymbol",
    "Output",
    "OutputError",
    "SpiOutput",
    "WireFrame",
    "choose_symbol",
    "decode_nrz",
    "older_capture",
    "open_spi",
    "read_capture",
]
