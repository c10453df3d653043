"""Under which web addresses phones reach this server."""

from __future__ import annotations

import ipaddress
import socket

from webapp.config import Settings


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
    scheme = "http" if settings.plain else "https"
    host = settings.listen_host if settings.plain else "localhost"
    return f"{scheme}://{'localhost' if host in ('0.0.0.0', '127.0.0.1') else host}:{port}"  # noqa: S104


def phone_base(settings: Settings, port: int) -> str | None:
    """The address for a phone: the one that was set, else in the shop's network; None when only local."""
    if settings.address:
        return settings.address
    bound = settings.listen_host
    if bound not in ("0.0.0.0", "::"):  # noqa: S104
        return None if bound in ("127.0.0.1", "localhost", "::1") else local_base(settings, port)
    address = lan_address()
    return f"{'http' if settings.plain else 'https'}://{address}:{port}" if address else None


def base_for_others(settings: Settings, scheme: str, host: str) -> str:
    """The address to hand to a phone, by one that asked at `host` (of its Host header).

    Who sits at the server asks at localhost, which means nothing on a phone; everybody else's address works.
    """
    name, _, port = host.rpartition(":") if ":" in host else (host, "", "")
    if settings.address:
        return settings.address
    if name in ("localhost", "127.0.0.1"):
        beyond = phone_base(settings, int(port)) if port.isdecimal() else None
        return beyond or f"{scheme}://{host}"
    return f"{scheme}://{host}"
