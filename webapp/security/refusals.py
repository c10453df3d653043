"""Why a sign-in was refused. The web layer turns these into problem documents."""

from __future__ import annotations


class SignInRefused(Exception):
    """A refusal that names the field and the mend."""

    status = 403
    title = "Sign-in refused"

    def __init__(self, field: str, problem: str, mend: str) -> None:
        super().__init__(f"{field} {problem}: {mend}")
        self.field, self.problem, self.mend = field, problem, mend


class MustWait(SignInRefused):
    """Too many wrong tries; nothing was looked at. `seconds` until the next try counts."""

    status = 429
    title = "Too many tries"

    def __init__(self, seconds: int) -> None:
        super().__init__("request", "came too soon after wrong tries", f"wait {seconds} s and try again")
        self.seconds = seconds


class WrongCode(SignInRefused):
    """The code is unknown, used or over. Which of the three is not said."""

    def __init__(self, mend: str) -> None:
        super().__init__("code", "is wrong, already used, or over", mend)


class WrongPassword(SignInRefused):
    """Not the owner's password."""

    def __init__(self) -> None:
        super().__init__(
            "password",
            "is not the owner's",
            "try again; `wayround owner password` on the server sets a new one",
        )


class AlreadySetUp(SignInRefused):
    """There is a shop already."""

    status = 409
    title = "The shop is set up"

    def __init__(self) -> None:
        super().__init__("code", "sets up a new shop, and there is one already", "sign in as owner or join by code")


class NotSignedIn(SignInRefused):
    """A stranger, or a device whose token has been revoked."""

    status = 401
    title = "Not signed in"

    def __init__(self) -> None:
        super().__init__(
            "Authorization",
            "names no device of this shop",
            "join with a code from the owner (Set-up, Devices), or send a token from `wayround device add`",
        )


class NotTheOwner(SignInRefused):
    """A device of the shop, but the owner has not signed in on it."""

    title = "Owner only"

    def __init__(self) -> None:
        super().__init__("session", "is not the owner's", "sign in as owner on this device")


class CrossSite(SignInRefused):
    """A write that another site's page has sent."""

    title = "Sent by another site"

    def __init__(self) -> None:
        super().__init__("Origin", "is another site", "send it from Wayround's own pages, or with a device's token")


class Undeclared(SignInRefused):
    """A view that does not say who may call it: a mistake in the program, closed to everybody."""

    title = "Closed"

    def __init__(self) -> None:
        super().__init__("path", "is closed to everybody", "report this: the program does not say who may call it")
