"""All files of a hub and its shops, written from few facts. A second time it adds shops, and keeps all keys."""

from __future__ import annotations

import ipaddress
import os
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from shop.authority import BEFORE, YEARS
from shop.hub import facts as known
from shop.hub.facts import AUTHORITY, CERTIFICATE, FACTS, HUB, KEY, LEAF, NUMBER, Facts, JoinedShop, Server
from shop.keys import encoded, seed_of
from shop.refusals import Refused

_PEM = serialization.Encoding.PEM


def make(to: Path, servers: Iterable[Server], shops: Iterable[str], lost: Iterable[str] = (), now: datetime | None = None) -> Facts:
    """Writes hub-1 … and shop-ID … into the folder; each is to be carried to its own computer. `lost`: which shops' mailboxes,
    or “hub”, have been made anew since the last time."""
    servers, shops = tuple(servers), list(shops)
    before = known.read(to / FACTS) if (to / FACTS).exists() else None
    if before is not None:
        if servers and servers != before.servers:
            raise Refused(f"{to} holds the files of a hub with other servers. Remedy: leave --servers out to add shops, or name another folder.")
        servers = before.servers
        shops = [shop.id for shop in before.shops] + [shop for shop in shops if shop not in {each.id for each in before.shops}]
    known.look(servers, shops)
    keys = {shop.id: shop.key for shop in before.shops} if before else {}
    times = {shop.id: shop.lost for shop in before.shops} | {HUB: before.lost} if before else {}
    for each in lost:
        if each not in times:
            raise Refused(f"{each!r} is neither hub nor one of these shops. Remedy: --lost with a shop's id, or --lost hub")
        times[each] += 1
    if before is None:
        _certificates(to, servers, now or datetime.now(UTC))
    authority = (to / AUTHORITY).read_bytes()
    for shop in shops:
        folder = to / f"shop-{shop}"
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        (folder / AUTHORITY).write_bytes(authority)
        if shop not in keys:
            private = Ed25519PrivateKey.generate()
            keys[shop] = encoded(private.public_key())
            _secret(folder / LEAF, seed_of(private).encode())
    told = Facts(servers, tuple(JoinedShop(shop, keys[shop], times.get(shop, 0)) for shop in shops), times.get(HUB, 0))
    for folder in (*(to / f"shop-{shop}" for shop in shops), *(to / f"hub-{n + 1}" for n in range(len(servers)))):
        # Carried away and deleted here since the last time, perhaps.
        folder.mkdir(exist_ok=True, mode=0o700)
        known.write(folder / FACTS, told)
    # Last: where it is missing, nothing was made.
    known.write(to / FACTS, told)
    return told


def _certificates(to: Path, servers: Iterable[Server], now: datetime) -> None:
    """One authority for this hub alone, whose key signs its servers' certificates and is never written anywhere."""
    begins, ends = now - BEFORE, now + timedelta(days=365 * YEARS)
    signing = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Tarewell hub")])

    def building(subject: x509.Name, public: ec.EllipticCurvePublicKey) -> x509.CertificateBuilder:
        built = x509.CertificateBuilder().subject_name(subject).issuer_name(name).public_key(public)
        return built.serial_number(x509.random_serial_number()).not_valid_before(begins).not_valid_after(ends)

    authority = building(name, signing.public_key()).add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
    root = authority.sign(signing, hashes.SHA256()).public_bytes(_PEM)
    for n, server in enumerate(servers):
        folder = to / f"hub-{n + 1}"
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        key = ec.generate_private_key(ec.SECP256R1())
        own = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Tarewell hub {n + 1}")])
        # To the other servers it is a client as well.
        uses = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH, ExtendedKeyUsageOID.CLIENT_AUTH])
        certificate = (
            building(own, key.public_key())
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(x509.SubjectAlternativeName([_name(server.address)]), critical=False)
            .add_extension(uses, critical=False)
            .sign(signing, hashes.SHA256())
        )
        (folder / CERTIFICATE).write_bytes(certificate.public_bytes(_PEM))
        _secret(folder / KEY, key.private_bytes(_PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()))
        (folder / AUTHORITY).write_bytes(root)
        (folder / NUMBER).write_text(str(n))
    (to / AUTHORITY).write_bytes(root)


def _name(address: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(address))
    except ValueError:
        return x509.DNSName(address)


def _secret(file: Path, content: bytes) -> None:
    with open(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as out:
        out.write(content)
