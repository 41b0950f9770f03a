"""A packet as PDF, set by WeasyPrint (optional extra `pdf`)."""

from typing import Literal

from fea.errors import Complaint, MissingExtraError

Paper = Literal["A4", "Letter"]


def require_pdf() -> None:
    """Raise where no PDF can be made.

    Raises
    ------
    MissingExtraError
        If WeasyPrint is not installed, or the system library Pango that it needs is not.
    """
    instead = "or print the HTML file from any browser"
    try:
        import weasyprint  # noqa: F401
    except ImportError:
        do = f'pip install "plumbrail[pdf]", {instead}'
        raise MissingExtraError(
            Complaint("a PDF needs WeasyPrint", found="not installed", do=do)
        ) from None
    except OSError:
        do = f"on Debian: apt-get install libpango-1.0-0 libpangoft2-1.0-0; {instead}"
        raise MissingExtraError(
            Complaint("a PDF needs Pango, a system library", found="not installed", do=do)
        ) from None


def as_pdf(text: str, paper: Paper = "A4") -> bytes:
    """Return HTML as PDF; nothing is fetched for it.

    Raises
    ------
    MissingExtraError
        As :func:`require_pdf`.
    """
    require_pdf()
    import weasyprint
    from weasyprint.urls import URLFetcher

    size = weasyprint.CSS(string=f"@page {{ size: {paper} }}")
    # A fixed identifier in the place of the usual random one.
    made = weasyprint.HTML(
        string=text, url_fetcher=URLFetcher(allowed_protocols=["data"])
    ).write_pdf(stylesheets=[size], pdf_identifier=b"plumbrail")
    assert isinstance(made, bytes)
    return made
