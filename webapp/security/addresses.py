"""Under which web addresses phones reach this server."""

from __future__ import annotations

import ipaddress
import socket
from urllib.parse import urlsplit

from webapp.config import Settings

_EVERYWHERE = ("0.0.0.0", "::")  # noqa: S104 - only compared
_HERE = ("localhost", "127.0.0.1", "::1")


def lan_address() -> str | None:
    """This machine's address in the shop's network; None without a network. Sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # RFC 5737: never routed; only the source address is asked for
        except OSError:
            return None
        address = str(probe.getsockname()[0])
    return None if ipaddress.ip_address(address).is_loopback else address


def local_base(settings: Settings, port: int) -> str:
    """The address for a browser on this machine."""
    bound = settings.listen_host
    return _base(settings, "localhost" if bound in (*_EVERYWHERE, *_HERE) else bound, port)


def phone_base(settings: Settings, port: int) -> str | None:
    """The address for a phone: the one that was set, else in the shop's network; None when only local."""
    if settings.address:
        return settings.address
    bound = settings.listen_host
    if bound in _HERE:
        return None
    address = lan_address() if bound in _EVERYWHERE else bound
    return _base(settings, address, port) if address else None


def links_base(settings: Settings) -> str:
    """The address for links in what is sent to people."""
    return phone_base(settings, settings.port) or local_base(settings, settings.port)


def _base(settings: Settings, host: str, port: int) -> str:
    scheme, default = ("http", 80) if settings.plain else ("https", 443)
    host = f"[{host}]" if ":" in host else host
    return f"{scheme}://{host}" if port == default else f"{scheme}://{host}:{port}"


def base_for_others(settings: Settings, scheme: str, host: str) -> str:
    """The address to hand to a phone, by one that asked at `host` (of its Host header).

    Who sits at the server asks at localhost, which means nothing on a phone; everybody else's address works.
    """
    if settings.address:
        return settings.address
    port = host.rpartition(":")[2]
    here = urlsplit(f"//{host}").hostname in _HERE
    beyond = phone_base(settings, int(port) if port.isdecimal() else 443) if here else None
    return beyond or f"{scheme}://{host}"
