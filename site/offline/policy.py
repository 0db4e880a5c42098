"""What a host should send with every file; the pages' own policy stands in their meta element too."""

from __future__ import annotations

from pages.app import POLICY

# A meta element can't carry frame-ancestors (HTML standard, "pragma directives"), so it stands in the headers only.
HEADERS = {
    "Content-Security-Policy": f"{POLICY}; frame-ancestors 'none'",
    "Permissions-Policy": "camera=(self), screen-wake-lock=(self), geolocation=(), microphone=()",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


def headers_file() -> str:
    """The `_headers` file that several static hosts read."""
    lines = ["/*", *(f"  {name}: {value}" for name, value in HEADERS.items()), "  Cache-Control: no-cache"]
    return "\n".join(lines) + "\n"
