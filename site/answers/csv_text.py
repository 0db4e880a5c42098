"""Tables as files for a spreadsheet."""

import csv
import io
from collections.abc import Sequence

# What a spreadsheet takes for the beginning of a formula (OWASP, "CSV Injection"): a mark before it keeps it a text.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def csv_of(heads: Sequence[str], rows: Sequence[Sequence[str | int]]) -> str:
    """A table as a file for a spreadsheet (RFC 4180); no text in it can be taken for a formula."""
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\r\n")
    for row in (heads, *rows):
        writer.writerow([_safe(each) if isinstance(each, str) else each for each in row])
    return written.getvalue()


def _safe(text: str) -> str:
    return f"'{text}" if text.startswith(_FORMULA) or text.lstrip().startswith(_FORMULA[:4]) else text
