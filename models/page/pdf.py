"""The page as PDF, typeset by weasyprint from the same template: light, with still pictures and no script.

Whatever the document might ask for from outside is refused; pictures stand in it as data.
"""

from __future__ import annotations

import logging
from typing import Any


class NoTypesetter(RuntimeError):
    """The library that makes PDF is not there, or lacks a library of the system; the message says how to mend
    it."""


def typesetter() -> Any:
    """The library that makes PDF.

    Raises
    ------
    NoTypesetter
        It cannot be loaded.
    """
    try:
        import weasyprint
    except ImportError:
        raise NoTypesetter(
            "a PDF needs weasyprint; install it with: pip install weasyprint. Or write HTML and print it."
        ) from None
    except OSError:
        raise NoTypesetter(
            "a PDF needs the text libraries of the system that weasyprint calls; on Debian or Ubuntu install "
            "libpango-1.0-0 and libpangoft2-1.0-0. Or write HTML and print it."
        ) from None
    return weasyprint


def pdf(document: str) -> bytes:
    """A document of `models.page.render.html`, made with `printed`, as PDF.

    Raises
    ------
    NoTypesetter
        There is nothing to make it with.
    """
    weasyprint = typesetter()
    # It tells of every property of figures and browsers that it leaves out.
    logging.getLogger("weasyprint").setLevel(logging.CRITICAL)
    fetcher = weasyprint.urls.URLFetcher(allowed_protocols=("data",))
    return bytes(weasyprint.HTML(string=document, url_fetcher=fetcher).write_pdf())
