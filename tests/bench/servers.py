"""Two servers that do TLS themselves on Windows, macOS and Linux, side by side on the same app and folder.

    pip install granian && python -m tests.bench.servers [--requests N]

Reported, never asserted: the figures stand in DEVELOPERS.md. Ratios are against cheroot without TLS in the same run.
"""

from __future__ import annotations

import argparse
import http.client
import os
import signal
import socket
import ssl
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

from webapp.security.certificates import files_in

CLIENTS = 8


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def command(name: str, data: Path, port: int, tls: bool) -> list[str]:
    """How each server is started over the same folder."""
    if name == "cheroot":
        plain = [] if tls else ["--plain"]
        return [sys.executable, "-m", "webapp.cli", "serve", "--data", str(data), "--port", str(port), *plain]
    files = files_in(data)
    secure = ["--ssl-certificate", str(files.server), "--ssl-keyfile", str(files.server_key)] if tls else []
    start = [sys.executable, "-m", "granian", "--interface", "wsgi", "--factory", "webapp:create_app"]
    return [*start, "--host", "127.0.0.1", "--port", str(port), "--workers", "1", "--blocking-threads", "8", *secure]


def connection(port: int, tls: bool) -> http.client.HTTPConnection:
    if not tls:
        return http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    context = ssl.create_default_context()
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    return http.client.HTTPSConnection("127.0.0.1", port, timeout=20, context=context)


def ask(port: int, tls: bool, count: int) -> None:
    """Requests over one connection kept open."""
    line = connection(port, tls)
    for _ in range(count):
        line.request("GET", "/healthz")
        answer = line.getresponse()
        if answer.status != 200 or not answer.read():
            raise SystemExit(f"/healthz answered {answer.status}")
    line.close()


@contextmanager
def running(name: str, data: Path, tls: bool) -> Iterator[tuple[subprocess.Popen[bytes], int]]:
    port = free_port()
    environment = os.environ | {"WAYROUND_DATA": str(data), "WAYROUND_PLAIN": "" if tls else "1"}
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    process = subprocess.Popen(command(name, data, port, tls), env=environment, **quiet)  # type: ignore[call-overload]
    try:
        for _ in range(150):
            try:
                ask(port, tls, 1)
                break
            except (OSError, http.client.HTTPException):
                time.sleep(0.1)
        yield process, port
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(20)


def memory_mb(process: subprocess.Popen[bytes]) -> float:
    """Resident memory of a process and its children, MB (Linux)."""
    children = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text().split()
    pages = sum(int(Path(f"/proc/{pid}/statm").read_text().split()[1]) for pid in (str(process.pid), *children))
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def measured(name: str, data: Path, tls: bool, count: int) -> tuple[float, float]:
    """Requests a second from eight clients, and MB of memory after them."""
    with running(name, data, tls) as (process, port):
        ask(port, tls, 50)
        start = time.perf_counter()
        with ThreadPoolExecutor(CLIENTS) as pool:
            list(pool.map(lambda _: ask(port, tls, count // CLIENTS), range(CLIENTS)))
        return count / (time.perf_counter() - start), memory_mb(process)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--requests", type=int, default=4000)
    count = parser.parse_args().requests
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder)
        with running("cheroot", data, True):
            pass  # makes the tables and the certificates
        first = None
        for name in ("cheroot", "granian"):
            for tls in (False, True):
                rate, memory = measured(name, data, tls, count)
                first = first or rate
                print(
                    f"{name:8} {'TLS' if tls else 'plain':5} {rate:8,.0f} requests/s ({rate / first:.2f})  {memory:4.0f} MB"
                )


if __name__ == "__main__":
    main()
