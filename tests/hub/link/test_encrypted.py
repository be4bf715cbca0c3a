"""An encrypted link reads ahead too: records of TLS hide from the socket what has come already."""

import shutil
import socket
import ssl
import subprocess
import threading
from pathlib import Path

import pytest

from hub.link.read_ahead import ReadAhead
from tests.bench.ingest_flood import publish_packet
from tests.hub.link.test_read_ahead import read_all
from tests.processes import wait_until

pytestmark = pytest.mark.skipif(shutil.which("openssl") is None, reason="makes its certificate with openssl")


def contexts(folder: Path) -> tuple[ssl.SSLContext, ssl.SSLContext]:
    """Of a server with a certificate of its own, and of a client that trusts it."""
    certificate, key = folder / "certificate.pem", folder / "key.pem"
    words = "req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2 -subj /CN=broker"
    subprocess.run(
        ["openssl", *words.split(), "-addext", "subjectAltName=DNS:broker", "-keyout", str(key), "-out", certificate],
        check=True,
        capture_output=True,
    )
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(certificate, key)
    return server, ssl.create_default_context(cafile=str(certificate))


def test_packets_come_through_an_encrypted_connection(tmp_path: Path) -> None:
    server, client = contexts(tmp_path)
    packets = [publish_packet(f"topic/{number}", bytes(number * 40)) for number in range(300)]
    ours, theirs = socket.socketpair()

    def send() -> None:
        with server.wrap_socket(theirs, server_side=True) as sender:
            for packet in packets:
                sender.sendall(packet)

    with ours, theirs:
        thread = threading.Thread(target=send)
        thread.start()
        with client.wrap_socket(ours, server_hostname="broker") as connection:
            connection.setblocking(False)
            ahead, out = ReadAhead(connection, lambda _rest: None), bytearray()

            def everything_came() -> bool:
                out.extend(read_all(ahead))
                return len(out) == sum(map(len, packets))

            wait_until(everything_came, 10)
        thread.join()
    assert out == b"".join(packets)
