"""EPS and PostScript become PDF by Ghostscript, in a process of its own, confined and limited.

The settings leave everything as drawn: colour spaces, spot colours, overprint, samples and JPEG data of pictures.
`-dSAFER` lets a file read nothing but Ghostscript's own resources and fonts, and write nothing but into a folder
that is thrown away.
"""

import contextlib
import os
import re
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pymupdf

from preflight.artwork import Fact, Font
from preflight.errors import Unreadable
from preflight.quantity import plain

#: What one file may write altogether, in bytes, before it is stopped.
MAX_OUTPUT = 256 << 20
#: What Ghostscript's interpreter may hold in memory, in kilobytes.
MAX_MEMORY_KB = 1_500_000

_AS_PDF = "Please export it as PDF, SVG or a fresh EPS with the lettering as outlines."
_AGAIN = "Please send it again; if it still can't be opened, export it as PDF."
_PROGRAMS = ("gs", "gswin64c", "gswin32c")
_DOS_EPS = b"\xc5\xd0\xd3\xc6"
_NUMBERS = rb"((?:[ \t]+[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?){4})"
_BOX = re.compile(rb"(?<![^\r\n])(%%(?:HiRes)?BoundingBox:)" + _NUMBERS)
_AT_END = re.compile(rb"(?<![^\r\n])(%%(?:HiRes)?BoundingBox:)[ \t]*\(atend\)")
_SUBSTITUTED = re.compile(r"Substituting font \S+ for (\S+?)\.?\s*$", re.M)
_ASKED = re.compile(r"^font asked for: (\S+)$", re.M)
_ERROR = re.compile(r"Error: /(\w+) in")

_SETTINGS = (
    "-dSAFER", "-dBATCH", "-dNOPAUSE", "-dNOPROMPT", "-dNONATIVEFONTMAP", "-sDEVICE=pdfwrite", f"-K{MAX_MEMORY_KB}",
    "-dCompatibilityLevel=1.7", "-dAutoRotatePages=/None", "-sColorConversionStrategy=LeaveColorUnchanged",
    "-dDownsampleColorImages=false", "-dDownsampleGrayImages=false", "-dDownsampleMonoImages=false",
    "-dAutoFilterColorImages=false", "-dAutoFilterGrayImages=false", "-dColorImageFilter=/FlateEncode",
    "-dGrayImageFilter=/FlateEncode", "-dPassThroughJPEGImages=true", "-dPassThroughJPXImages=true",
    "-dPreserveOverprintSettings=true", "-dPreserveSeparation=true", "-dPreserveDeviceN=true",
    "-dPreserveHalftoneInfo=false", "-dPreserveOPIComments=false", "-dEmbedAllFonts=true", "-dMaxSubsetPct=100",
    "-sDEFAULTPAPERSIZE=a4",
)  # fmt: skip
#: Runs before the file: embeds every font, and says which fonts the file asks for without carrying them (status 2,
#: or unknown, of the Font category: PostScript Language Reference, third edition, `resourcestatus`).
_PROLOGUE = """
<< /NeverEmbed [] >> setdistillerparams
/findfont {
  dup type /nametype eq {
    dup /Font resourcestatus {pop 2 eq} {true} ifelse
    {(\\nfont asked for: ) print dup 128 string cvs print (\\n) print flush} if
  } if
  systemdict /findfont get exec
} bind def
"""


@dataclass(frozen=True)
class ConvertedPs:
    """A PostScript file as PDF.

    Attributes:
        fonts: those the file asks for and does not carry; Ghostscript drew its own instead.
    """

    pdf: bytes
    facts: tuple[Fact, ...] = ()
    fonts: tuple[Font, ...] = ()


def to_pdf(data: bytes, seconds: float = 60) -> ConvertedPs:
    """Convert EPS or PostScript.

    Args:
        data: the whole file; a DOS EPS with a preview is cut open.
        seconds: wall time that Ghostscript gets.

    Raises:
        Unreadable: no Ghostscript, an error in the PostScript, nothing drawn, or a limit of time, memory or size reached.
    """
    program = next(filter(None, map(shutil.which, _PROGRAMS)), None)
    if program is None:
        raise Unreadable(
            "This is PostScript (EPS), which needs the program Ghostscript, and that is not installed here.",
            "Please install Ghostscript (package `ghostscript`) and check again, or send the artwork as PDF.",
        )
    code, crop, facts = _prepared(_postscript_part(data))
    with tempfile.TemporaryDirectory(prefix="preflight-", ignore_cleanup_errors=True) as folder:
        pdf, log = _run(program, code, crop, Path(folder), seconds)
    try:
        with pymupdf.open(stream=pdf, filetype="pdf") as document:
            used = {
                _bare(font[3])
                for number in range(min(len(document), 200))
                for font in document.get_page_fonts(number)
            }
            pages = len(document)
    except (RuntimeError, ValueError) as error:
        raise Unreadable("The PostScript in this file could not be turned into pages.", _AS_PDF) from error
    if not pages:
        raise Unreadable("The PostScript in this file draws nothing.", _AGAIN)
    missing = dict.fromkeys([*_SUBSTITUTED.findall(log), *_ASKED.findall(log)])
    fonts = tuple(
        Font(plain(name, 80), embedded=False, substituted=True) for name in missing if _bare(name) in used
    )
    return ConvertedPs(pdf, facts, fonts)


def _bare(font: str) -> str:
    """A font's name without subset tag and punctuation, for comparing names that went through a converter."""
    return re.sub(r"[^a-z0-9]", "", re.sub(r"^[A-Z]{6}\+", "", font).lower())


def _postscript_part(data: bytes) -> bytes:
    """A DOS EPS starts with the places of its PostScript and its preview (EPSF specification 3.0, section 5)."""
    if not data.startswith(_DOS_EPS):
        return data
    if len(data) < 30:
        raise Unreadable("This EPS is cut off.", _AGAIN)
    start, length = struct.unpack("<II", data[4:12])
    part = data[start : start + length]
    if start < 28 or len(part) < length or not part.lstrip(b"\x04\r\n\t ").startswith(b"%!"):
        raise Unreadable(
            "This EPS is damaged or cut off: its PostScript part is not where it should be.", _AGAIN
        )
    return part


def _prepared(code: bytes) -> tuple[bytes, bool, tuple[Fact, ...]]:
    """The code with the header Ghostscript needs to crop to the bounding box, and whether it is to be cropped."""
    first = re.match(rb"[^\r\n]*", code.lstrip(b"\x04\xef\xbb\xbf\r\n\t "))
    eps = b"EPSF" in (first[0] if first else b"")
    pages = len(re.findall(rb"(?<![^\r\n])%%Page:", code))
    stated = _BOX.search(code)
    box = [float(figure) for figure in stated[2].split()] if stated else None
    if box and (box[2] - box[0] <= 0 or box[3] - box[1] <= 0):
        box = None
    if not eps and (pages > 1 or not box):
        return code, False, ()
    facts: tuple[Fact, ...] = ()
    if not any(mark in code[-4096:] for mark in (b"showpage", b"%%EOF", b"%%Trailer", b"%%PageTrailer")):
        # One that was cut between two operators still draws, but not all of it.
        facts = (Fact("damaged", "The EPS ends without its end mark: a part of it may be missing."),)
    if box is None:
        return (
            code,
            False,
            (*facts, Fact("damaged", "The EPS does not state its bounding box, so not its size.")),
        )
    if _AT_END.search(code):  # the figures stand at the end, where Ghostscript does not look for them
        last = {match[1]: match[2] for match in _BOX.finditer(code)}
        code = _AT_END.sub(lambda match: match[1] + last.get(match[1], b" (atend)"), code)
    if not eps:
        at = code.find(b"%!")
        end = re.compile(rb"[\r\n]|$").search(code, at)
        code = b"%!PS-Adobe-3.0 EPSF-3.0" + code[end.start() if end else at :]
    return code, True, facts


def _run(program: str, code: bytes, crop: bool, folder: Path, seconds: float) -> tuple[bytes, str]:
    """Run Ghostscript over the code and return the PDF and what it said."""
    (folder / "art.ps").write_bytes(code)
    made, log = folder / "art.pdf", folder / "log.txt"
    command = [
        program,
        *_SETTINGS,
        *(["-dEPSCrop"] if crop else []),
        f"-sOutputFile={made}",
        "-c",
        _PROLOGUE,
        "-f",
        "art.ps",
    ]
    keep = ("PATH", "SYSTEMROOT", "SystemRoot")
    environment = {name: os.environ[name] for name in keep if name in os.environ}
    environment |= {
        "TMPDIR": str(folder),
        "TEMP": str(folder),
        "TMP": str(folder),
        "HOME": str(folder),
        "LC_ALL": "C",
    }
    own_group: dict[str, Any] = {"start_new_session": True}
    if sys.platform == "win32":
        own_group = {"creationflags": subprocess.CREATE_NEW_PROCESS_GROUP}
    with log.open("wb") as said:
        process = subprocess.Popen(
            command,
            cwd=folder,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=said,
            **own_group,
        )
        try:
            _limit(process.pid, seconds)
            _watch(process, folder, seconds)
        finally:
            _end(process)
    text = log.read_bytes()[: 1 << 20].decode("latin-1")
    error = _ERROR.search(text)
    if process.returncode != 0 or error or not made.exists():
        kind = error[1] if error else ""
        if kind == "VMerror":
            raise Unreadable("The PostScript in this file needs more memory than it may have.", _AS_PDF)
        raise Unreadable(
            "The PostScript in this file stops with an error, so it can't be drawn"
            + (f" ({plain(kind, 40)})." if kind else "."),
            _AS_PDF,
        )
    return made.read_bytes(), text


def _limit(pid: int, seconds: float) -> None:
    """Limits that hold even when this process is killed before it can end Ghostscript; Linux alone can set them here."""
    if sys.platform != "linux":
        return
    import resource

    busy = int(seconds) + 2
    try:
        resource.prlimit(pid, resource.RLIMIT_CPU, (busy, busy))
        resource.prlimit(pid, resource.RLIMIT_FSIZE, (MAX_OUTPUT, MAX_OUTPUT))
        resource.prlimit(pid, resource.RLIMIT_CORE, (0, 0))
    except ProcessLookupError:  # it has already finished
        return


def _watch(process: "subprocess.Popen[bytes]", folder: Path, seconds: float) -> None:
    """Wait for the end, or raise when time or space is used up."""
    until = time.monotonic() + seconds
    pause = 0.01
    while True:
        try:
            process.wait(min(pause, max(0.0, until - time.monotonic())))
            return
        except subprocess.TimeoutExpired:
            pause = min(0.2, pause * 1.5)
        if time.monotonic() >= until:
            raise Unreadable(
                f"The PostScript in this file was not done drawing after {seconds:g} seconds.", _AS_PDF
            )
        if _size(folder) > MAX_OUTPUT:
            raise Unreadable("The PostScript in this file grows without end when it is drawn.", _AS_PDF)


def _size(folder: Path) -> int:
    """Bytes of the files in a folder in which another process is writing and removing."""
    total = 0
    with os.scandir(folder) as entries:
        for entry in entries:
            # its scratch files may go between being listed and being looked at
            with contextlib.suppress(FileNotFoundError):
                total += entry.stat(follow_symlinks=False).st_size
    return total


def _end(process: "subprocess.Popen[bytes]") -> None:
    """End Ghostscript and whatever it started: its whole process group."""
    try:
        if sys.platform == "win32":
            process.kill()
        else:
            os.killpg(process.pid, signal.SIGKILL)
    except (ProcessLookupError, PermissionError):  # nothing of the group is left
        pass
    process.wait()
