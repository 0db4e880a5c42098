"""The workshop's own certificate authority, which phones are asked to trust.

A phone that trusts an authority believes it about every address in the world. So this one is bound to the shop's one name,
by constraints in both of its certificates; its root key signs one intermediate certificate and is never written anywhere;
and the intermediate's key, which stays on this computer, can sign for that name only, and no further authorities.
"""

from __future__ import annotations

import ipaddress
import os
import shutil
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from shop.refusals import Refused

ROOT, INTERMEDIATE, KEY = "root.crt", "int.crt", "int.key"
# Phones must be made to trust it by hand, so it should last; after it, one is made anew and trusted anew.
YEARS = 10
# A laptop's clock and a phone's differ.
BEFORE = timedelta(days=2)


@dataclass(frozen=True)
class Authority:
    """Made, on the disk, and looked through."""

    folder: Path
    name: str
    root: x509.Certificate
    ends: datetime

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the root certificate as phones show it, in pairs."""
        return ":".join(f"{byte:02X}" for byte in self.root.fingerprint(hashes.SHA256()))

    @property
    def title(self) -> str:
        """What phones call it."""
        return str(self.root.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value)

    @property
    def der(self) -> bytes:
        return self.root.public_bytes(serialization.Encoding.DER)


def make(folder: Path, name: str, shop: str, now: datetime) -> None:
    """Makes it in a folder that isn't there yet, whole or not at all."""
    begins, ends = now - BEFORE, now + timedelta(days=365 * YEARS)
    root_key, key = ec.generate_private_key(ec.SECP256R1()), ec.generate_private_key(ec.SECP256R1())
    root_name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Tarewell shop {shop}, only for {name}")])
    own_name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Tarewell shop {shop}")])
    root = _certificate(root_name, root_name, root_key.public_key(), root_key, name, 1, begins, ends)
    intermediate = _certificate(own_name, root_name, key.public_key(), root_key, name, 0, begins, ends)
    del root_key
    beside = folder.with_name(f"{folder.name}.new")
    shutil.rmtree(beside, ignore_errors=True)
    beside.mkdir(parents=True, mode=0o700)
    pem = serialization.Encoding.PEM
    (beside / ROOT).write_bytes(root.public_bytes(pem))
    (beside / INTERMEDIATE).write_bytes(intermediate.public_bytes(pem))
    secret = key.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    with open(os.open(beside / KEY, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(secret)
    beside.rename(folder)


def load(folder: Path, name: str, now: datetime) -> Authority:
    """The one on the disk; refused where it is another name's, is damaged, or has run out."""
    remedy = (
        f"Remedy: put {folder.name}/ back from a copy of this folder; or delete it to make a new authority, which every phone "
        "must then be told to trust anew."
    )
    try:
        root = x509.load_pem_x509_certificate((folder / ROOT).read_bytes())
        intermediate = x509.load_pem_x509_certificate((folder / INTERMEDIATE).read_bytes())
        key = serialization.load_pem_private_key((folder / KEY).read_bytes(), None)
        root.verify_directly_issued_by(root)
        intermediate.verify_directly_issued_by(root)
        permitted = _permitted(root), _permitted(intermediate)
    except (OSError, ValueError, TypeError, InvalidSignature, x509.ExtensionNotFound) as error:
        raise Refused(f"The shop's certificates in {folder} can't be used ({error}). {remedy}") from error
    if key.public_key() != intermediate.public_key():
        raise Refused(f"The key in {folder} is not that of its certificate. {remedy}")
    if permitted != ([name], [name]):
        raise Refused(f"The shop's certificates in {folder} are for {permitted[0]}, not for {name}. {remedy}")
    ends = min(root.not_valid_after_utc, intermediate.not_valid_after_utc)
    if now > ends:
        raise Refused(f"The shop's certificates ran out on {ends:%Y-%m-%d}. {remedy}")
    if now < root.not_valid_before_utc:
        raise Refused(
            f"This computer's clock says {now:%Y-%m-%d}, and the shop's certificates begin on {root.not_valid_before_utc:%Y-%m-%d}. "
            "Remedy: set the clock, then start again."
        )
    return Authority(folder, name, root, ends)


def load_or_make(folder: Path, name: str, shop: str, now: datetime | None = None) -> tuple[Authority, bool]:
    """Also whether it was made just now."""
    now = now or datetime.now(UTC)
    made = not folder.exists()
    if made:
        make(folder, name, shop, now)
    return load(folder, name, now), made


def _permitted(certificate: x509.Certificate) -> list[object]:
    constraints = certificate.extensions.get_extension_for_class(x509.NameConstraints)
    if not constraints.critical:
        raise ValueError("its name constraints are not critical")
    return [each.value for each in constraints.value.permitted_subtrees or ()]


def _certificate(
    subject: x509.Name,
    issuer: x509.Name,
    public: ec.EllipticCurvePublicKey,
    signing: ec.EllipticCurvePrivateKey,
    name: str,
    path_length: int,
    begins: datetime,
    ends: datetime,
) -> x509.Certificate:
    # RFC 5280, 4.2.1.10: a constraint binds names of its own form only. That of DNS would leave addresses open, so all
    # of these are shut out. Both certificates bear it: of an authority that is trusted as such, a verifier need not look.
    constraints = x509.NameConstraints(
        permitted_subtrees=[x509.DNSName(name)],
        excluded_subtrees=[
            x509.IPAddress(ipaddress.ip_network("0.0.0.0/0")),
            x509.IPAddress(ipaddress.ip_network("::/0")),
        ],
    )
    usage = x509.KeyUsage(
        key_cert_sign=True, crl_sign=True, digital_signature=False, content_commitment=False, key_encipherment=False,
        data_encipherment=False, key_agreement=False, encipher_only=False, decipher_only=False,
    )  # fmt: skip
    building = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(begins)
        .not_valid_after(ends)
        .add_extension(x509.BasicConstraints(ca=True, path_length=path_length), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(constraints, critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(signing.public_key()), critical=False)
    )
    if path_length == 0:
        # What it signs is good for servers alone: not for mail, programs or persons.
        building = building.add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    return building.sign(signing, hashes.SHA256())
