"""The workshop's authority: what it may vouch for, asked of two verifiers that know nothing of ours.

What must hold is RFC 5280's: 4.2.1.9 (path length), 4.2.1.10 (name constraints). Asked of OpenSSL by a handshake, and of the
verifier of the cryptography package.
"""

import ipaddress
import ssl
import stat
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from shop import authority
from shop.refusals import Refused

NAME = "tarewell.local"
NOW = datetime.now(UTC)


@pytest.fixture
def made(tmp_path):
    folder = tmp_path / "ca"
    authority.make(folder, NAME, "shopaaaa", NOW)
    return folder


def certificate(path):
    return x509.load_pem_x509_certificate(path.read_bytes())


def signed(folder, *names, authority_too=False):
    """What somebody who took the intermediate's key could sign: a certificate for these names, and its key."""
    signing = serialization.load_pem_private_key((folder / "int.key").read_bytes(), None)
    issuer = certificate(folder / "int.crt")
    key = ec.generate_private_key(ec.SECP256R1())
    building = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"signed in a test, {'an authority' if authority_too else 'a server'}")]))
        .issuer_name(issuer.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(NOW - timedelta(hours=1))
        .not_valid_after(NOW + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName(list(names)), critical=False)
        .add_extension(x509.BasicConstraints(ca=authority_too, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(signing.public_key()), critical=False)
    )
    return building.sign(signing, hashes.SHA256()), key


def handshake(folder, tmp_path, leaf, key, name):
    """What a client that trusts the root alone says to a server with this certificate: None where it's content."""
    pem = serialization.Encoding.PEM
    chain = tmp_path / "chain.pem"
    secret = key.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    chain.write_bytes(secret + leaf.public_bytes(pem) + (folder / "int.crt").read_bytes())
    serving = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    serving.load_cert_chain(chain)
    trusting = ssl.create_default_context(cafile=str(folder / "root.crt"))
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    client = trusting.wrap_bio(to_client, to_server, server_hostname=name)
    server = serving.wrap_bio(to_server, to_client, server_side=True)
    done = set()
    for _ in range(10):
        for side in (client, server):
            try:
                side.do_handshake()
                done.add(side)
            except ssl.SSLWantReadError:
                pass
            except ssl.SSLCertVerificationError as error:
                return error.verify_message
    assert client in done
    return None


def verified(folder, leaf, subject):
    store = Store([certificate(folder / "root.crt")])
    return PolicyBuilder().store(store).build_server_verifier(subject).verify(leaf, [certificate(folder / "int.crt")])


def test_both_certificates_are_bound_to_the_one_name_and_to_no_address(made):
    for file in ("root.crt", "int.crt"):
        constraints = certificate(made / file).extensions.get_extension_for_class(x509.NameConstraints)
        assert constraints.critical
        assert [each.value for each in constraints.value.permitted_subtrees] == [NAME]
        shut = {each.value for each in constraints.value.excluded_subtrees}
        assert shut == {ipaddress.ip_network("0.0.0.0/0"), ipaddress.ip_network("::/0")}


def test_the_intermediate_may_sign_servers_and_no_further_authority(made):
    root, intermediate = certificate(made / "root.crt"), certificate(made / "int.crt")
    basic = [each.extensions.get_extension_for_class(x509.BasicConstraints).value for each in (root, intermediate)]
    assert [(each.ca, each.path_length) for each in basic] == [(True, 1), (True, 0)]
    use = intermediate.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(use) == [ExtendedKeyUsageOID.SERVER_AUTH]


def test_its_own_name_is_believed(made, tmp_path):
    leaf, key = signed(made, x509.DNSName(NAME))
    assert handshake(made, tmp_path, leaf, key, NAME) is None
    assert verified(made, leaf, x509.DNSName(NAME))


@pytest.mark.parametrize("other", ["bank.example", "local", "tarewell.local.example"])
def test_another_name_is_refused_though_the_key_signed_it(made, tmp_path, other):
    leaf, key = signed(made, x509.DNSName(other))
    assert handshake(made, tmp_path, leaf, key, other) == "permitted subtree violation"
    with pytest.raises(VerificationError):
        verified(made, leaf, x509.DNSName(other))


@pytest.mark.parametrize("number", ["192.0.2.7", "2001:db8::7"])
def test_an_address_of_the_network_is_refused(made, tmp_path, number):
    leaf, key = signed(made, x509.IPAddress(ipaddress.ip_address(number)))
    assert handshake(made, tmp_path, leaf, key, number) == "excluded subtree violation"


def test_an_authority_below_it_is_refused(made, tmp_path):
    below, key = signed(made, x509.DNSName(NAME), authority_too=True)
    folder = tmp_path / "below"
    folder.mkdir()
    pem = serialization.Encoding.PEM
    (folder / "int.crt").write_bytes(below.public_bytes(pem))
    (folder / "int.key").write_bytes(key.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()))
    leaf, leaf_key = signed(folder, x509.DNSName(NAME))
    (folder / "int.crt").write_bytes(below.public_bytes(pem) + (made / "int.crt").read_bytes())
    (folder / "root.crt").write_bytes((made / "root.crt").read_bytes())
    assert handshake(folder, tmp_path, leaf, leaf_key, NAME) == "path length constraint exceeded"


def test_it_lasts_ten_years_from_before_now(made):
    for file in ("root.crt", "int.crt"):
        each = certificate(made / file)
        assert each.not_valid_before_utc < NOW - timedelta(days=1)
        assert timedelta(days=3640) < each.not_valid_after_utc - NOW < timedelta(days=3660)


def test_the_root_key_is_nowhere_and_the_other_is_its_owners_alone(made):
    assert sorted(path.name for path in made.iterdir()) == ["int.crt", "int.key", "root.crt"]
    key = serialization.load_pem_private_key((made / "int.key").read_bytes(), None)
    assert key.public_key() != certificate(made / "root.crt").public_key()
    assert stat.S_IMODE((made / "int.key").stat().st_mode) == 0o600
    assert b"PRIVATE" not in (made / "root.crt").read_bytes() + (made / "int.crt").read_bytes()


def test_it_is_made_once(made):
    first = authority.load(made, NAME, NOW)
    again, is_new = authority.load_or_make(made, NAME, "shopaaaa")
    assert not is_new
    assert again.fingerprint == first.fingerprint


def test_the_fingerprint_is_that_of_the_file_a_phone_gets(made):
    der = ssl.PEM_cert_to_DER_cert((made / "root.crt").read_text())
    digest = hashes.Hash(hashes.SHA256())
    digest.update(der)
    found = authority.load(made, NAME, NOW)
    assert found.fingerprint.replace(":", "").lower() == digest.finalize().hex()
    assert found.der == der


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (lambda folder: (folder / "int.key").unlink(), "can't be used"),
        (lambda folder: (folder / "root.crt").write_text("nothing"), "can't be used"),
        (lambda folder: (folder / "int.crt").write_bytes((folder / "root.crt").read_bytes()), "not that of its certificate"),
    ],
)
def test_a_damaged_one_is_refused_with_the_remedy(made, damage, words):
    damage(made)
    with pytest.raises(Refused, match=rf"(?s){words}.*Remedy"):
        authority.load(made, NAME, NOW)


def test_one_of_another_name_or_another_time_is_refused_with_the_remedy(made):
    with pytest.raises(Refused, match=r"are for \['tarewell.local'\], not for soap.home.*Remedy"):
        authority.load(made, "soap.home", NOW)
    with pytest.raises(Refused, match=r"ran out on 20\d\d.*Remedy"):
        authority.load(made, NAME, NOW + timedelta(days=4000))
    with pytest.raises(Refused, match="Remedy: set the clock"):
        authority.load(made, NAME, NOW - timedelta(days=30))
