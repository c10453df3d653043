"""`wayround serve` as a process of its own: TLS, first run, stopping, and being killed."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from types import SimpleNamespace

import pytest
import requests
from click import ClickException
from cryptography import x509

from tests.cli.served import START_SECONDS, Served
from webapp.cli import serving
from webapp.security.certificates import names_of, own_names

pytestmark = pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")


@pytest.fixture
def serve(tmp_path: Path) -> Iterator[Callable[..., Served]]:
    """Starts servers over one data folder; none is left behind."""
    started: list[Served] = []

    def start(*options: str, **environ: str) -> Served:
        started.append(Served(tmp_path / "data", "--port", "0", *options, **environ))
        return started[-1]

    yield start
    for served in started:
        if served.process.poll() is None:
            served.process.kill()
            served.process.wait()


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Served]]:
    """One server with TLS and one without, for the tests that only ask; started once."""
    variables = {"WAYROUND_THREADS": "8", "WAYROUND_MAX_BODY": "65536", "WAYROUND_NAMES": "shop.lan"}
    folder = tmp_path_factory.mktemp("running")
    both = {
        "tls": Served(folder / "tls", "--port", "0", **variables),
        "plain": Served(folder / "plain", "--port", "0", "--plain", **variables),
    }
    yield {name: served.wait() for name, served in both.items()}
    assert [served.stop() for served in both.values()] == [0, 0]
    assert not [served for served in both.values() if "Traceback" in served.told()]


@pytest.fixture
def tls(running: dict[str, Served]) -> Served:
    """The running server with TLS."""
    return running["tls"]


@pytest.fixture
def plain(running: dict[str, Served]) -> Served:
    """The running server without TLS."""
    return running["plain"]


def test_a_browser_that_trusts_the_authority_is_served(tls: Served) -> None:
    healthy = tls.get("/healthz")
    assert healthy.status_code == 200 and healthy.json() == {"status": "ok"}
    with pytest.raises(requests.exceptions.SSLError):
        requests.get(tls.base + "/healthz", timeout=10)


def test_the_chain_holds_for_every_name_by_the_strict_rules(tls: Served) -> None:
    port = int(tls.base.rpartition(":")[2])
    context = ssl.create_default_context(cafile=tls.authority)
    context.verify_flags |= ssl.VERIFY_X509_STRICT
    for name in [*own_names(), "shop.lan"]:
        raw = socket.create_connection(("127.0.0.1", port))
        with context.wrap_socket(raw, server_hostname=name) as shaken:
            assert shaken.version() in ("TLSv1.2", "TLSv1.3")
            sent = shaken.getpeercert(binary_form=True)
            assert sent is not None and name in names_of(x509.load_der_x509_certificate(sent))


def test_the_phone_fetches_the_authority_and_no_key(tls: Served) -> None:
    fetched = tls.get("/ca.crt")
    assert fetched.headers["Content-Type"] == "application/x-x509-ca-cert"
    assert fetched.content == Path(tls.authority).read_bytes() and b"PRIVATE" not in fetched.content
    for path in ("/ca.key", "/certificates/ca.key", "/..%2fcertificates%2fca.key", "/wayround.sqlite3"):
        assert tls.get(path).status_code == 404


def test_the_first_run_is_led_by_the_printed_address(serve: Callable[..., Served]) -> None:
    served = serve().wait()
    found = re.search(r"/#/first\?code=(\S+)", served.told())
    assert found
    body = {
        "code": found.group(1),
        "shop": {"name": "Quill Metal", "time_zone": "America/Chicago"},
        "owner": {"name": "Ada Quill"},
        "password": "three plain words",
        "device_name": "Office",
    }
    browser = requests.Session()
    browser.verify, browser.trust_env = served.authority, False
    made = browser.post(served.base + "/api/v1/session/first", json=body, timeout=10)
    assert made.status_code == 200, made.text
    (cookie,) = browser.cookies
    assert cookie.secure and cookie.has_nonstandard_attr("HttpOnly")
    assert browser.get(served.base + "/api/v1/devices", timeout=10).json()[0]["name"] == "Office"
    assert served.stop() == 0
    again = serve().wait()
    assert "/#/first" not in again.told()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_it_stops_cleanly(serve: Callable[..., Served], number: int) -> None:
    served = serve("--plain").wait()
    assert served.stop(number) == 0
    assert served.told().rstrip().endswith("Stopped.") and "Traceback" not in served.told()


def test_it_stops_amid_a_rush_of_requests(serve: Callable[..., Served]) -> None:
    served = serve("--plain").wait()
    port = int(served.base.rpartition(":")[2])
    over = threading.Event()

    def ask() -> None:
        while not over.is_set():
            with suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=2) as wire:
                wire.sendall(b"GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n")
                wire.recv(2000)

    asking = [threading.Thread(target=ask) for _ in range(6)]
    try:
        for one in asking:
            one.start()
        time.sleep(0.5)
        assert served.stop() == 0
    finally:
        over.set()
        for one in asking:
            one.join()
    assert served.told().rstrip().endswith("Stopped.") and "Traceback" not in served.told()


def test_a_server_that_ends_by_itself_is_an_error_and_said() -> None:
    with pytest.raises(ClickException, match="ended by itself"):
        serving._serve(SimpleNamespace(serve=lambda: None))  # type: ignore[arg-type]


def test_killed_it_leaves_nothing_behind_and_starts_again(serve: Callable[..., Served]) -> None:
    served = serve("--plain").wait()
    port = int(served.base.rpartition(":")[2])
    served.stop(signal.SIGKILL)
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("127.0.0.1", port), timeout=5)
    assert serve("--plain").wait().get("/healthz").status_code == 200


def test_plain_answers_this_machine_alone(plain: Served) -> None:
    assert plain.base.startswith("http://localhost:") and "on phones" not in plain.told()
    port = int(plain.base.rpartition(":")[2])
    for address in [name for name in own_names() if name[0].isdigit() and not name.startswith("127.")]:
        with pytest.raises(OSError, match=r".*"):
            socket.create_connection((address, port), timeout=5).close()
    assert plain.get("/ca.crt").status_code == 404


def test_one_folder_is_served_once(serve: Callable[..., Served]) -> None:
    serve("--plain").wait()
    second = serve("--plain")
    assert second.process.wait(START_SECONDS) == 1
    assert "is served already" in second.told() and "Traceback" not in second.told()


def test_a_port_that_is_taken_is_said(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        served = Served(tmp_path / "data", "--plain", "--port", port)
        assert served.process.wait(START_SECONDS) == 1
    assert f"127.0.0.1:{port} is taken" in served.told() and "Traceback" not in served.told()


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        (b"POST /api/v1/session/join HTTP/1.1\r\nHost: a\r\nContent-Length: 70000\r\n\r\n", 413),
        (b"GET /" + b"x" * 70_000 + b" HTTP/1.1\r\nHost: a\r\n\r\n", 414),
        (b"GET / HTTP/1.1\r\nHost a\r\n\r\n", 400),
        (b"GET / HTTP/9.9\r\nHost: a\r\n\r\n", 505),
        (b"nonsense\r\n\r\n", 400),
    ],
)
def test_what_never_reaches_the_app_is_answered_in_the_same_shape(plain: Served, sent: bytes, status: int) -> None:
    port = int(plain.base.rpartition(":")[2])
    with socket.create_connection(("127.0.0.1", port), timeout=5) as raw:
        raw.sendall(sent)
        answer = b"".join(iter(lambda: raw.recv(65536), b""))
    head, _, body = answer.partition(b"\r\n\r\n")
    assert head.startswith(f"HTTP/1.1 {status} ".encode()) and b"application/problem+json" in head
    problem = json.loads(body)
    assert problem["status"] == status and problem["errors"][0]["mend"]


@pytest.mark.parametrize("which", ["tls", "plain"])
@pytest.mark.parametrize("sent", [b"", b"\x16", b"\x16\x03\x01", b"GET /"])
def test_silent_clients_hold_nobody_up(running: dict[str, Served], which: str, sent: bytes) -> None:
    """One phone that opened a connection and went out of reach stopped every other for thirty seconds."""
    served = running[which]
    port = int(served.base.rpartition(":")[2])
    # A client that says nothing costs no thread; one that stops half-way costs one until its time is up.
    silent = [socket.create_connection(("127.0.0.1", port)) for _ in range(6 if sent else 40)]
    for connection in silent:
        connection.sendall(sent)
    time.sleep(0.2)
    begun = time.monotonic()
    for _ in range(5):
        assert served.get("/healthz").status_code == 200
    assert time.monotonic() - begun < 2
    for connection in silent:
        connection.close()


def test_whoever_forgets_the_s_of_https_is_led_there(tls: Served) -> None:
    forgot = tls.base.replace("https://", "http://")
    answer = requests.get(forgot + "/some/where?x=1", allow_redirects=False, timeout=10)
    assert answer.status_code == 302 and answer.headers["Location"] == tls.base + "/some/where?x=1"
    assert requests.post(forgot + "/api/v1/session/join", json={}, timeout=10).status_code == 400


def test_noise_on_the_port_is_borne(tls: Served) -> None:
    """A handshake that failed left no socket to close, and the fault of closing it ended the server."""
    port = int(tls.base.rpartition(":")[2])
    split_header = b"GET / HTTP/1.1\r\nHost: a\r\n b\r\n\r\n"
    for noise in 3 * (b"\x00" * 50, b"\x16" + b"\xff" * 200, b"\x16", b"SSH-2.0-x\r\n", split_header):
        with socket.create_connection(("127.0.0.1", port), timeout=5) as raw, suppress(ConnectionResetError):
            raw.sendall(noise)
            if noise != b"\x16":  # half a handshake is not answered: this client just leaves
                assert b"\r\n b" not in raw.recv(4096)
    assert tls.get("/healthz").status_code == 200
    assert "Traceback" not in tls.told()


def test_one_connection_carries_many_requests(tls: Served) -> None:
    with requests.Session() as browser:
        browser.trust_env = False
        for _ in range(20):
            assert browser.get(tls.base + "/healthz", verify=tls.authority, timeout=10).status_code == 200
        pools = browser.get_adapter(tls.base).poolmanager.pools
        assert [pools.get(key).num_connections for key in list(pools.keys())] == [1]
