"""Mail by a real SMTP server: what arrives, what is refused, what is tried again, and what settings are refused."""

from __future__ import annotations

import email
import email.policy
import socket
from collections.abc import Callable, Iterator
from dataclasses import replace
from email.message import EmailMessage
from typing import Any

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult

from tests.conftest import Shop
from tests.reminders.conftest import Clock, Office
from webapp.config import SettingError, Settings
from webapp.database import db
from webapp.reminders import delivery
from webapp.reminders.faults import Trouble

TO = "ada@quill.example"


class Postbox:
    """A mail server's handler: keeps what comes, or answers what it is told to."""

    def __init__(self) -> None:
        self.mails: list[EmailMessage] = []
        self.recipients: list[str] = []
        self.answers: dict[str, list[str]] = {"RCPT": [], "DATA": []}

    async def handle_RCPT(self, _server: Any, _session: Any, envelope: Any, address: str, _options: Any) -> str:
        if self.answers["RCPT"]:
            return self.answers["RCPT"].pop(0)
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, _server: Any, _session: Any, envelope: Any) -> str:
        if self.answers["DATA"]:
            return self.answers["DATA"].pop(0)
        made = email.message_from_bytes(envelope.content, policy=email.policy.default)
        assert isinstance(made, EmailMessage)
        self.mails.append(made)
        self.recipients += envelope.rcpt_tos
        return "250 Taken"


@pytest.fixture
def postbox() -> Postbox:
    return Postbox()


@pytest.fixture
def server(postbox: Postbox, monkeypatch: pytest.MonkeyPatch) -> Iterator[Controller]:
    """It listens on a free port of this machine."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    controller = Controller(postbox, hostname="127.0.0.1", port=port, ready_timeout=30)
    controller.start()
    yield controller
    controller.stop()


def use(office: Office, **settings: Any) -> None:
    office.app.config["WAYROUND"] = replace(office.app.config["WAYROUND"], **settings)


@pytest.fixture
def mailed(server: Controller, office: Office) -> Office:
    """The owner takes mail, and the server sends it by that mail server."""
    use(office, smtp_host="127.0.0.1", smtp_port=server.port, smtp_security="none", smtp_from="shop@quill.example",
        address="https://shop.example:8443")  # fmt: skip
    office.edit("person", office.shop.owner, reminders={"channels": ["mail"], "mail": TO})
    return office


def deliver(office: Office) -> str:
    with office.app.app_context():
        try:
            return delivery.deliver()
        finally:
            db.session.remove()


def test_a_mail_says_all_of_it_as_text_and_as_html(mailed: Office, postbox: Postbox) -> None:
    task = mailed.task("Grease <the> vise & jaws", {"every": {"weeks": 4}})
    mailed.remind()
    assert deliver(mailed) == "1 sent."
    (mail,) = postbox.mails
    assert postbox.recipients == [TO] and mail["To"] == TO and mail["From"] == "Wayround <shop@quill.example>"
    assert mail["Subject"] == "Grease <the> vise & jaws is due" and mail["Auto-Submitted"] == "auto-generated"
    assert mail["Message-ID"] == f"<{mailed.sent()[0]['id']}@quill.example>" and mail["Date"]
    text, html = (mail.get_body((kind,)).get_content() for kind in ("plain", "html"))  # type: ignore[union-attr]
    for part in ("Where: Mill 1", "About 5 min", "Why now: Every 4 weeks", "due today"):
        assert part in text and part in html, part
    link = f"https://shop.example:8443/#/task/{mailed.shop.mill}/{task}"
    assert link in text and f'href="{link}"' in html
    assert "Grease &lt;the&gt; vise &amp; jaws" in html and "<the>" not in html
    assert "<script" not in html and "<img" not in html


def test_several_needs_are_one_mail(mailed: Office, postbox: Postbox) -> None:
    for name in ("One", "Two", "Three"):
        mailed.task(name, {"every": {"weeks": 4}})
    mailed.remind()
    deliver(mailed)
    (mail,) = postbox.mails
    assert mail["Subject"] == "3 things to see to at Quill Metal"


@pytest.mark.parametrize(("where", "answer", "outcome"), [
    ("RCPT", "550 no such user", "failed"), ("DATA", "554 refused", "failed"),
    ("RCPT", "451 later", "waiting"), ("DATA", "452 full", "waiting"),
])  # fmt: skip
def test_what_is_refused_for_good_has_failed_the_rest_is_tried_again(
    mailed: Office, postbox: Postbox, where: str, answer: str, outcome: str
) -> None:
    mailed.task("Grease the vise", {"every": {"weeks": 4}})
    postbox.answers[where] = [answer]
    mailed.remind()
    try:
        deliver(mailed)
    except Trouble as trouble:
        assert outcome == "failed" and answer in str(trouble)
    (row,) = mailed.sent()
    assert row["outcome"] == outcome and answer in row["said"]
    mailed.clock.on(minutes=2)
    if outcome == "waiting":
        assert deliver(mailed) == "1 sent." and len(postbox.mails) == 1


def test_a_server_that_is_away_is_tried_again(mailed: Office, postbox: Postbox, server: Controller) -> None:
    mailed.task("Grease the vise", {"every": {"weeks": 4}})
    use(mailed, smtp_port=1)
    mailed.remind()
    assert deliver(mailed) == ""
    assert mailed.sent()[0]["outcome"] == "waiting" and "does not answer" in mailed.sent()[0]["said"]
    use(mailed, smtp_port=server.port)
    mailed.clock.on(minutes=2)
    assert deliver(mailed) == "1 sent." and len(postbox.mails) == 1


def test_a_server_without_tls_gets_nothing_when_tls_is_asked_for(mailed: Office, postbox: Postbox) -> None:
    mailed.task("Grease the vise", {"every": {"weeks": 4}})
    use(mailed, smtp_security="starttls")
    mailed.remind()
    deliver(mailed)
    assert not postbox.mails and "WAYROUND_SMTP_SECURITY" in mailed.sent()[0]["said"]


def test_name_and_password_are_given_and_a_wrong_one_is_told(mailed: Office, postbox: Postbox) -> None:
    def check(_server: SMTP, _session: Any, _envelope: Any, _way: str, data: Any) -> AuthResult:
        return AuthResult(success=(data.login, data.password) == (b"shop", b"right"), handled=False)

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    make: Callable[..., Controller] = Controller
    guarded = make(
        postbox, hostname="127.0.0.1", port=port, authenticator=check, auth_required=True, auth_require_tls=False
    )
    guarded.start()
    try:
        mailed.task("Grease the vise", {"every": {"weeks": 4}})
        use(mailed, smtp_port=port, smtp_user="shop", smtp_password="wrong")
        mailed.remind()
        deliver(mailed)
        assert "WAYROUND_SMTP_USER" in mailed.sent()[0]["said"] and "wrong" not in mailed.sent()[0]["said"]
        use(mailed, smtp_password="right")
        mailed.clock.on(minutes=2)
        assert deliver(mailed) == "1 sent." and len(postbox.mails) == 1
    finally:
        guarded.stop()


def test_a_test_mail_is_sent_at_once(mailed: Office, postbox: Postbox) -> None:
    ask = {"person": mailed.shop.owner, "channel": "mail"}
    answer = mailed.app.test_client().post("/api/v1/reminders/test", json=ask, headers=mailed.shop.headers())
    assert answer.get_json() == [
        {"channel": "mail", "target": TO, "outcome": "sent", "said": "Taken by the mail server."}
    ]
    assert postbox.mails[0]["Subject"] == "A test from Wayround"


@pytest.mark.parametrize(
    "address", ["ada", "ada@", "@quill", "a b@quill.example", "Ada <ada@quill.example>", "ada@quill"]
)
def test_what_is_no_address_is_refused(shop: Shop, clock: Clock, address: str) -> None:
    from webapp.records.faults import Refused

    with pytest.raises(Refused, match="mail"):
        Office(shop, clock).edit("person", shop.owner, reminders={"channels": ["mail"], "mail": address})


@pytest.mark.parametrize(("change", "variable"), [
    ({"WAYROUND_SMTP_PORT": "0"}, "WAYROUND_SMTP_PORT"), ({"WAYROUND_SMTP_SECURITY": "ssl"}, "WAYROUND_SMTP_SECURITY"),
    ({"WAYROUND_SMTP_FROM": "Shop <a@b.c>"}, "WAYROUND_SMTP_FROM"), ({"WAYROUND_SMTP_FROM": ""}, "WAYROUND_SMTP_FROM"),
    ({"WAYROUND_SMTP_HOST": "smtp://mail"}, "WAYROUND_SMTP_HOST"), ({"WAYROUND_SMTP_HOST": ""}, "WAYROUND_SMTP_FROM"),
    ({"WAYROUND_SMTP_USER": "shop"}, "WAYROUND_SMTP_PASSWORD"), ({"WAYROUND_SMTP_PASSWORD": "x"}, "WAYROUND_SMTP_USER"),
    ({"WAYROUND_SMTP_USER": "a", "WAYROUND_SMTP_PASSWORD": "b", "WAYROUND_SMTP_SECURITY": "none"}, "WAYROUND_SMTP_SECURITY"),
    ({"WAYROUND_BACKUPS": __file__}, "WAYROUND_BACKUPS"), ({"WAYROUND_BACKUPS_KEEP": "0"}, "WAYROUND_BACKUPS_KEEP"),
])  # fmt: skip
def test_settings_that_cannot_work_are_refused_by_name(change: dict[str, str], variable: str) -> None:
    good = {"WAYROUND_SMTP_HOST": "mail.example", "WAYROUND_SMTP_FROM": "shop@quill.example"}
    assert Settings.from_environment(good).smtp_host == "mail.example"
    with pytest.raises(SettingError) as found:
        Settings.from_environment(good | change)
    assert found.value.variable == variable and found.value.mend
