"""The page that says how a phone comes to trust the shop, on the screen and on paper, in every language of the app.

It is served without a certificate, since the phone trusts none yet. So anybody on the Wi-Fi may change it on its way, and the
fingerprint that counts is the one on the shop's computer and on the paper that was printed there.
"""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from answers.qr import code_svg, modules
from calc.entry.language import LANGUAGES, speaking, tr
from shop.authority import Authority
from shop.folder import Folder, Shop

TEMPLATES = Path(__file__).with_name("templates")
CERTIFICATE = "tarewell-shop.crt"
FILES: Mapping[str, str] = {"en": "index.html", "es": "es.html"}
OWN_NAMES = {"en": "English", "es": "Español"}
# So many pairs stand in one line, on a phone as on paper.
_PAIRS = 8


def trust_address(shop: Shop, trust_port: int) -> str:
    return f"http://{shop.name}:{trust_port}/"


def write(folder: Folder, shop: Shop, authority: Authority, trust_port: int) -> None:
    folder.trust.mkdir(exist_ok=True)
    (folder.trust / CERTIFICATE).write_bytes(authority.der)
    shutil.copyfile(TEMPLATES / "trust.css", folder.trust / "trust.css")
    for language in LANGUAGES:
        page = shown(shop, authority, trust_port, language)
        (folder.trust / FILES[language]).write_text(page, encoding="utf-8")


def shown(shop: Shop, authority: Authority, trust_port: int, language: str) -> str:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    address = trust_address(shop, trust_port)
    with speaking(language):
        return environment.get_template("trust.html").render(
            tr=tr,
            language=language,
            languages=[(each, OWN_NAMES[each]) for each in LANGUAGES],
            files=FILES,
            certificate=CERTIFICATE,
            subject=authority.title,
            fingerprint=lines(authority.fingerprint),
            name=shop.name,
            origin=shop.origin,
            ends=authority.ends.year,
            trust_address=address,
            trust_code=code_svg(modules(address), address),
            app_code=code_svg(modules(f"{shop.origin}/"), f"{shop.origin}/"),
        )


def lines(fingerprint: str) -> list[str]:
    """A fingerprint as it is compared, eight pairs at a time."""
    pairs = fingerprint.split(":")
    return [":".join(pairs[n : n + _PAIRS]) for n in range(0, len(pairs), _PAIRS)]
