"""The reply as a mail draft with the PDF attached (RFC 5322, MIME), for a person to look at and send.

The mail library folds and encodes the headers; what goes into them has no line breaks left, and a sender that is not
plainly an address is left out.
"""

import re
from datetime import UTC, datetime
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime

from preflight.findings import Report
from preflight.report import reply, wording
from preflight.report.data import Letterhead, clean, job_text

_ADDRESS = re.compile(r"[A-Za-z0-9._%+-]{1,64}@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)+")


def render(
    report: Report, pdf: bytes, letterhead: Letterhead | None = None, when: datetime | None = None
) -> bytes:
    """The draft: nobody is addressed, and `X-Unsent: 1` opens it for editing in programs that know it.

    Args:
        report: the report.
        pdf: the PDF report.
        letterhead: who signs, and the sender's address if it has one.
        when: the date of the draft; now if None.
    """
    letterhead = (letterhead or Letterhead()).clean()
    safe = clean(report)
    name = job_text(safe, "job") or safe.file
    message = EmailMessage(policy=SMTP)
    message["Subject"] = f"{wording.headline(safe)}: {name}"[:200]
    if _ADDRESS.fullmatch(letterhead.email):
        message["From"] = letterhead.email
    message["Date"] = format_datetime(when or datetime.now(UTC))
    message["X-Unsent"] = "1"
    message.set_content(reply.render(report, letterhead, attached=True), cte="quoted-printable")
    message.add_attachment(pdf, maintype="application", subtype="pdf", filename=attachment_name(safe))
    return message.as_bytes()


def attachment_name(report: Report) -> str:
    """A file name that any system takes: letters, digits and hyphens, from the job or the file."""
    name = job_text(report, "job") or report.file.replace("\\", "/").rsplit("/", 1)[-1].rsplit(".", 1)[0]
    slug = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-")[:60]
    return f"artwork-report-{slug or 'job'}.pdf"
