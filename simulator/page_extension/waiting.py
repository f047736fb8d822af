"""A waiting page of our own: stands in a lesson's page from its first bytes, until the lesson itself says how far it is.

The scripts that draw the page take a while to come and to start. What is shown meanwhile needs none of them.
"""

from __future__ import annotations

import html
import json
import re
from functools import cache
from pathlib import Path

from tornado.httputil import HTTPHeaders, HTTPServerRequest
from tornado.web import OutputTransform

MANIFEST = Path(__file__).parent / "labextension" / "callout-lesson-page" / "static" / "manifest.json"
#: The page's extension takes it away by this id.
MARK = "callout-waiting"
LONGEST = 45  # [s] after which it goes by itself, whatever has become of the page
BODY = re.compile(rb"<body[^>]*>")
_LAYER = """<div id="{mark}" role="status"><style>
#{mark} {{ position: fixed; inset: 0; z-index: 20000; display: grid; place-content: center; justify-items: center;
  gap: 1rem; background: #fbfaf5; color: #1b2730; font: 1.1rem/1.5 system-ui, sans-serif; pointer-events: none;
  animation: {mark} 0s {longest}s forwards; }}
#{mark} progress {{ width: 14rem; accent-color: #0e5a73; }}
@keyframes {mark} {{ to {{ visibility: hidden; }} }}
@media (prefers-color-scheme: dark) {{ #{mark} {{ background: #14191d; color: #ece8dd; }} }}
</style><span>{words}</span><progress aria-hidden="true"></progress></div>"""


@cache
def lessons_and_words() -> tuple[frozenset[str], str]:
    """The files of our lessons, and what is said while one of them comes."""
    manifest = json.loads(MANIFEST.read_text(encoding="utf-8"))
    return frozenset(one["name"] for one in manifest["lessons"]), str(
        manifest["words"]["en"]["getting_ready"]
    )


def is_lesson(path: str) -> bool:
    """Whether an address is that of the page of one of our lessons.

    Parameters
    ----------
    path : of the request.

    Examples
    --------
    >>> is_lesson("/doc/tree/lessons/00_start_here.ipynb"), is_lesson("/lab/tree/lessons/00_start_here.ipynb")
    (True, False)
    >>> is_lesson("/doc/tree/lessons/my_own.ipynb")
    False
    """
    page, _, name = path.rpartition("/")
    return "/doc/" in page and name in lessons_and_words()[0]


def with_waiting(page: bytes) -> bytes:
    """A page with the waiting layer first in its body; one without a body stays as it is.

    Parameters
    ----------
    page : as the server has made it.

    Examples
    --------
    >>> with_waiting(b"<body><p>Late</p></body>").startswith(b'<body><div id="callout-waiting"')
    True
    """
    layer = _LAYER.format(mark=MARK, longest=LONGEST, words=html.escape(lessons_and_words()[1]))
    return BODY.sub(lambda found: found.group() + layer.encode(), page, count=1)


class WaitingPage(OutputTransform):
    """Puts the waiting layer into what the server sends for the page of a lesson.

    Parameters
    ----------
    request : that is answered.
    """

    def __init__(self, request: HTTPServerRequest) -> None:
        self._wanted = is_lesson(request.path)

    def transform_first_chunk(
        self, status_code: int, headers: HTTPHeaders, chunk: bytes, finishing: bool
    ) -> tuple[int, HTTPHeaders, bytes]:
        """As :class:`tornado.web.OutputTransform` has it.

        Parameters
        ----------
        status_code, headers : of the answer.
        chunk : its first bytes, all of them where ``finishing``.
        """
        if self._wanted and status_code == 200 and headers.get("Content-Type", "").startswith("text/html"):
            chunk = with_waiting(chunk)
            if "Content-Length" in headers:
                headers["Content-Length"] = str(len(chunk))
        return status_code, headers, chunk
