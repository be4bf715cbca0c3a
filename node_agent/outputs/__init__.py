"""The ways out of a board, one a file, each behind the interface of `output.py`."""

from node_agent.outputs.capture import CapturedFrame, CaptureHeader, CaptureOutput, older_capture, read_capture
from node_agent.outputs.clocked import ClockedEncoder, DecodedClocked, decode_clocked
from node_agent.outputs.encoder import Decoded, Encoder, decode_frame, encoder_for
from node_agent.outputs.nrz import DecodedNrz, NrzEncoder, decode_nrz
from node_agent.outputs.nrz_symbol import NrzSymbol, choose_symbol
from node_agent.outputs.output import Output, OutputError, WireFrame
from node_agent.outputs.spi import SpiOutput, open_spi

__all__ = [
    "CaptureHeader",
    "CaptureOutput",
    "CapturedFrame",
    "ClockedEncoder",
    "Decoded",
    "DecodedClocked",
    "DecodedNrz",
    "Encoder",
    "NrzEncoder",
    "NrzSymbol",
    "Output",
    "OutputError",
    "SpiOutput",
    "WireFrame",
    "choose_symbol",
    "decode_clocked",
    "decode_frame",
    "decode_nrz",
    "encoder_for",
    "older_capture",
    "open_spi",
    "read_capture",
]
