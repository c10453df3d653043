"""The people of the invented shop, their PINs and the devices they write on. All of it is made up."""

from __future__ import annotations

import base64
import hashlib
from dataclasses import dataclass
from functools import cache
from random import Random
from typing import Any

PASSWORD = "slack-water-at-dawn"  # noqa: S105 - the demo prints it; it opens nothing but an invented shop
PIN_ITERATIONS = 100_000  # the fewest that set-up takes: these PINs guard nothing


@dataclass(frozen=True)
class Person:
    """Somebody of the shop: `device` is the key of what they write on."""

    key: str
    name: str
    initials: str
    role: str
    pin: str
    device: str


PEOPLE = (
    Person("odile", "Odile Brannock", "OB", "owner", "4172", "odile_phone"),
    Person("ruben", "Ruben Askey", "RA", "member", "2905", "ruben_phone"),
    Person("wanda", "Wanda Thistlewood", "WT", "member", "6338", "bench_tablet"),
    Person("femi", "Femi Calder", "FC", "member", "8051", "bench_tablet"),
)
DEVICES = {
    "odile_phone": "Odile's phone",
    "ruben_phone": "Ruben's phone",
    "bench_tablet": "Bench tablet",
}


def person_body(person: Person, rng: Random) -> dict[str, Any]:
    """The definition of a person; the PIN only says who, it locks nothing."""
    salt = rng.randbytes(16)
    digest = _digest(person.pin, salt)
    pin = {
        "salt": base64.b64encode(salt).decode(),
        "iterations": PIN_ITERATIONS,
        "hash": base64.b64encode(digest).decode(),
    }
    return {"name": person.name, "initials": person.initials, "role": person.role, "pin": pin}


@cache
def _digest(pin: str, salt: bytes) -> bytes:
    """Kept, because it is slow by design, and whoever looks at many mornings of the demo asks for the same ones."""
    return hashlib.pbkdf2_hmac("sha256", pin.encode(), salt, PIN_ITERATIONS)
