"""Exit statuses, and the errors that carry one and tell the person at the desk what to do."""

from enum import IntEnum


class ExitStatus(IntEnum):
    """What the command says to the shell.  A crash must never read as a verdict."""

    PASS = 0  # every job passes; queries allowed
    FAIL = 1  # at least one job fails
    TROUBLE = 2  # the command itself could not run
    INTERRUPTED = 130


class PreflightError(Exception):
    """The command could not run: one line that says why, and how to mend it.

    The message goes to standard error as it is: anything quoted from a file must be escaped with
    `preflight.quantity.plain` first.
    """

    status = ExitStatus.TROUBLE


class Unreadable(Exception):
    """A file is not artwork that can be opened: a finding about the file, not trouble of the command.

    Args:
        says: what the file is, one plain sentence for the client.
        remedy: what to send instead, one plain sentence.
    """

    def __init__(
        self, says: str, remedy: str = "Please send the artwork as PDF, SVG, EPS, PNG, TIFF or JPEG."
    ):
        super().__init__(says)
        self.says = says
        self.remedy = remedy
