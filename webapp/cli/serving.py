"""The running server: one process of threads that does TLS itself and stops cleanly."""

from __future__ import annotations

import errno
import logging
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

import click
from cheroot.wsgi import Server
from flask import Flask

from webapp import reminders
from webapp.cli.lock import FolderLocked, hold
from webapp.cli.tls import LateAdapter, PatientServer
from webapp.config import Settings
from webapp.security import certificates

logger = logging.getLogger(__name__)

# Each costs a socket and no thread; a shop's phones and their browsers' spare ones come to a few dozen.
_OPEN_CONNECTIONS = 200
_LARGEST_HEADERS = 32 * 1024
_RENEWAL_EVERY_SECONDS = 3600.0
_LOOK_EVERY_SECONDS = 0.5


def run(app: Flask, settings: Settings, announce: Callable[[int], None]) -> None:
    """Serve until told to stop. `announce` is called with the port once connections are taken.

    Ends the command with a plain message when the port is taken or the folder is served already.
    """
    try:
        with hold(settings.data), _stop_on_term():
            server = _bound(app, settings)
            renewal = _keep_certificates(server, settings)
            scheduler = reminders.start(app)
            try:
                announce(server.bind_addr[1])
                _serve(server)
            finally:
                renewal.set()
                scheduler.shutdown(wait=False)
                server.stop()
    except FolderLocked:
        raise click.ClickException(f"{settings.data} is served already. Stop that server first.") from None
    except KeyboardInterrupt:
        click.echo("Stopped.")


def _serve(server: Server) -> None:
    """Serve until the signal to stop, which then meets this thread where it only waits.

    Raised amid the server's own work, it could leave one of its locks held, and stopping would wait for that for ever.
    """
    thread = threading.Thread(target=server.serve, name="server", daemon=True)
    thread.start()
    while thread.is_alive():
        time.sleep(_LOOK_EVERY_SECONDS)
    raise click.ClickException("The server ended by itself. The log above says why; start it again.")


def _bound(app: Flask, settings: Settings) -> Server:
    server = PatientServer(
        (settings.listen_host, settings.port),
        app,
        numthreads=settings.threads,
        server_name="Wayround",
        request_queue_size=128,
        timeout=30,
        shutdown_timeout=10,
    )
    server.keep_alive_conn_limit = _OPEN_CONNECTIONS
    server.max_request_body_size = settings.max_body
    server.max_request_header_size = _LARGEST_HEADERS
    server.error_log = _log_error
    if not settings.plain:
        files = _ensure(settings).files
        server.ssl_adapter = LateAdapter(str(files.server), str(files.server_key))
    try:
        server.prepare()
    except OSError as error:
        raise click.ClickException(_why_not_bound(settings, error)) from None
    return server


def _why_not_bound(settings: Settings, error: OSError) -> str:
    where = f"{settings.listen_host}:{settings.port}"
    if error.errno == errno.EACCES:
        return f"This user may not listen on {where}. Choose a port above 1023 with --port."
    if error.errno in (errno.EADDRINUSE, None):
        return f"{where} is taken by another program. Choose another port with --port."
    return f"Cannot listen on {where}: {error.strerror}. Choose an address of this machine with --host."


def _log_error(msg: str = "", level: int = logging.INFO, traceback: bool = False) -> None:
    """Cheroot's own messages: a phone that breaks a handshake off is no error of ours."""
    logger.log(level if traceback else logging.DEBUG, "%s", msg, exc_info=traceback)


def _ensure(settings: Settings) -> certificates.Ensured:
    found = certificates.ensure(settings.data, [*certificates.own_names(), *settings.names])
    for name in found.uncovered:
        logger.warning(
            "The certificate cannot be for %s: the authority was made without it. To make a new one, delete "
            "%s and install the new ca.crt on every phone.",
            name,
            found.files.folder,
        )
    return found


def _keep_certificates(server: Server, settings: Settings) -> threading.Event:
    """Look every hour whether names, addresses or dates ask for a new certificate. The event ends it."""
    ended = threading.Event()

    def look() -> None:
        while not ended.wait(_RENEWAL_EVERY_SECONDS):
            try:
                found = _ensure(settings)
                if found.renewed:
                    server.ssl_adapter.reload(str(found.files.server), str(found.files.server_key))
                    logger.info("The server's certificate was made anew.")
            except (OSError, ValueError):
                logger.exception("The server's certificate could not be looked after")

    if not settings.plain:
        threading.Thread(target=look, name="certificates", daemon=True).start()
    return ended


@contextmanager
def _stop_on_term() -> Iterator[None]:
    """Let SIGTERM do what Ctrl-C does."""

    def stop(_number: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def start_logging(level: str) -> None:
    """Log to standard error, so that what a command prints stays clean."""
    logging.basicConfig(level=level, stream=sys.stderr, format="%(asctime)s %(levelname)-7s %(name)s: %(message)s")
    if level != "DEBUG":
        for chatty in ("alembic", "apscheduler"):  # each tells at INFO of every step it takes
            logging.getLogger(chatty).setLevel(logging.WARNING)
