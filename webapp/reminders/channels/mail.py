"""Mail by SMTP, as text and HTML."""

from __future__ import annotations

import smtplib
import ssl
from datetime import UTC, datetime
from email.message import EmailMessage
from email.utils import format_datetime
from typing import Any

from webapp.config import Settings, current
from webapp.reminders.channels.outcome import Outcome
from webapp.reminders.saying import as_html, as_text
from webapp.security.addresses import links_base
from webapp.setup.ids import now_ms

SECONDS = 20.0


def compose(settings: Settings, to: str, id_: str, message: dict[str, Any]) -> EmailMessage:
    """The mail of one delivery. Its Message-ID comes of the delivery's id, so that what is sent twice shows once."""
    mail = EmailMessage()
    mail["Subject"] = " ".join(message["title"].split())
    mail["From"] = f"Wayround <{settings.smtp_from}>"
    mail["To"] = to
    mail["Date"] = format_datetime(datetime.fromtimestamp(now_ms() // 1000, UTC))
    mail["Message-ID"] = f"<{id_}@{settings.smtp_from.rpartition('@')[2]}>"
    mail["Auto-Submitted"] = "auto-generated"  # RFC 3834: nobody's holiday notice answers it
    base = links_base(settings)
    mail.set_content(as_text(message, base))
    mail.add_alternative(as_html(message, base), subtype="html")
    return mail


def send(to: str, id_: str, message: dict[str, Any]) -> Outcome:
    """Send one mail. What the server refuses for good (5yz of the recipient or the mail) has failed; everything else
    is tried again."""
    settings = current()
    if not settings.smtp_host:
        return Outcome("failed", "No mail server is set: WAYROUND_SMTP_HOST.")
    try:
        with _connected(settings) as server:
            server.send_message(compose(settings, to, id_, message))
    except smtplib.SMTPRecipientsRefused as refused:
        code, said = next(iter(refused.recipients.values()))
        return _refused(code, said)
    except (smtplib.SMTPSenderRefused, smtplib.SMTPDataError) as refused:
        return _refused(refused.smtp_code, refused.smtp_error)
    except smtplib.SMTPAuthenticationError as refused:
        code = refused.smtp_code
        return Outcome("waiting", f"The mail server refuses name and password ({code}): see WAYROUND_SMTP_USER.")
    except smtplib.SMTPNotSupportedError as wrong:
        return Outcome("waiting", f"The mail server lacks something ({wrong}): see WAYROUND_SMTP_SECURITY.")
    except ssl.SSLError as wrong:
        return Outcome("waiting", f"No private connection to {settings.smtp_host}: {wrong.reason or wrong}.")
    except (smtplib.SMTPException, OSError) as error:
        where = f"{settings.smtp_host}:{settings.smtp_port}"
        return Outcome("waiting", f"{where} does not answer as a mail server ({error}).")
    return Outcome("sent", "Taken by the mail server.")


def _connected(settings: Settings) -> smtplib.SMTP:
    """A connection, private and signed in as the settings say."""
    context = ssl.create_default_context()
    where = settings.smtp_host, settings.smtp_port
    if settings.smtp_security == "tls":
        server: smtplib.SMTP = smtplib.SMTP_SSL(*where, timeout=SECONDS, context=context)
    else:
        server = smtplib.SMTP(*where, timeout=SECONDS)
    try:
        if settings.smtp_security == "starttls":
            server.starttls(context=context)
        if settings.smtp_user:
            server.login(settings.smtp_user, settings.smtp_password)
    except BaseException:
        server.close()
        raise
    return server


def _refused(code: int, said: bytes | str) -> Outcome:
    text = said.decode(errors="replace") if isinstance(said, bytes) else said
    return Outcome("failed" if code >= 500 else "waiting", f"{code} {text}"[:300])
