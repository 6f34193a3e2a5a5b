"""A house's own root and leaf, verified by libraries that did not make them."""

import ipaddress
import re
import shutil
import ssl
import stat
import subprocess
from datetime import UTC, datetime, timedelta

import httpx
import pytest
from cryptography import x509
from cryptography.x509.verification import PolicyBuilder, Store
from stations import make_accounts, need, running

from pourbook.errors import StoreError
from pourbook.station.asked import House
from pourbook.station.certificates import certificates_for, local_addresses
from pourbook.station.people import cookie_name, guest_cookie

NOW = datetime(2026, 11, 30, 12, tzinfo=UTC)
NAMES = ("bench.quillmere.example", "127.0.0.1")


def leaf_of(made):
    """The station's certificate."""
    return x509.load_pem_x509_certificate(made.leaf.read_bytes())


def test_the_leaf_is_verified_by_the_root(tmp_path):
    """By path validation as RFC 5280 has it, for its name and its address, in cryptography's own verifier."""
    made = certificates_for(tmp_path / "tls", "Quillmere", NAMES, NOW)
    trusted = Store([x509.load_pem_x509_certificate(made.root.read_bytes())])
    for subject in (x509.DNSName(NAMES[0]), x509.IPAddress(ipaddress.ip_address(NAMES[1]))):
        verifier = PolicyBuilder().store(trusted).time(NOW).build_server_verifier(subject)
        assert len(verifier.verify(leaf_of(made), [])) == 2
    with pytest.raises(x509.verification.VerificationError):
        PolicyBuilder().store(trusted).time(NOW).build_server_verifier(x509.DNSName("elsewhere.example")).verify(
            leaf_of(made), []
        )


def test_openssl_agrees(tmp_path):
    """A second implementation."""
    need("openssl", shutil.which("openssl"))
    made = certificates_for(tmp_path / "tls", "Quillmere", NAMES, datetime.now(UTC))
    ran = subprocess.run(
        ["openssl", "verify", "-x509_strict", "-purpose", "sslserver", "-CAfile", made.root, made.leaf],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ran.stdout.strip().endswith("OK"), ran.stderr


def test_keys_are_for_their_owner_alone(tmp_path):
    """And so is the folder."""
    made = certificates_for(tmp_path / "tls", "Quillmere", NAMES, NOW)
    for path in (made.key, made.root.with_suffix(".key")):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(made.root.parent.stat().st_mode) == 0o700


def test_the_leaf_is_renewed_and_the_root_stays(tmp_path):
    """In time, and when the station gets another name; not otherwise."""
    first = certificates_for(tmp_path / "tls", "Quillmere", NAMES, NOW)
    root, leaf = first.root.read_bytes(), first.leaf.read_bytes()
    again = certificates_for(tmp_path / "tls", "Quillmere", reversed(NAMES), NOW + timedelta(days=300))
    assert (again.leaf.read_bytes(), again.days_left) == (leaf, 96)
    renewed = certificates_for(tmp_path / "tls", "Quillmere", NAMES, NOW + timedelta(days=370))
    second = renewed.leaf.read_bytes()
    assert second != leaf
    named = certificates_for(tmp_path / "tls", "Quillmere", [*NAMES, "cellar.example"], NOW + timedelta(days=370))
    assert named.leaf.read_bytes() != second
    assert (named.root.read_bytes(), named.fingerprint) == (root, first.fingerprint)


def test_what_is_no_certificate_is_said_so(tmp_path):
    """Nothing is thrown away unasked."""
    made = certificates_for(tmp_path / "tls", "Quillmere", NAMES, NOW)
    made.root.write_text("not a certificate")
    with pytest.raises(StoreError, match="cannot be made or read"):
        certificates_for(tmp_path / "tls", "Quillmere", NAMES, NOW)
    assert made.root.read_text() == "not a certificate"


@pytest.mark.in_a_file("the folder of certificates beside it; on a server it is of the machine")
def test_a_station_for_others_speaks_tls_alone(demo, tmp_path):
    """With its root, a client gets its page; without, it does not; cookies are marked for TLS only."""
    book = tmp_path / "quillmere.pourbook"
    shutil.copy(demo, book)
    make_accounts(book)
    with running(book, "--lan") as station:
        assert station.url.startswith("https://")
        address = f"https://127.0.0.1:{station.port}"
        trusted = ssl.create_default_context(cafile=f"{book}-station-tls/root.pem")
        with httpx.Client(verify=trusted, base_url=address) as client:
            answer = client.get("/sign-in")
            assert answer.status_code == 200
            assert client.get("/").status_code == 303
            assert "max-age" in answer.headers["strict-transport-security"]
            assert "__Host-pourbook" in answer.headers["set-cookie"]
            assert "Secure" in answer.headers["set-cookie"]
            token = re.search(r'name="csrf-token" content="([0-9a-f]+)"', answer.text)[1]
            looks = {"language": "de", "theme": "dark", "csrf_token": token}
            for cookie in client.post("/looks", data=looks).headers.get_list("set-cookie"):
                assert "Secure" in cookie, cookie
            assert client.get("/trust/root.crt").content.startswith(b"-----BEGIN CERTIFICATE-----")
            assert client.get("/trust").status_code == 200
        with httpx.Client(base_url=address) as client, pytest.raises(httpx.ConnectError):
            client.get("/sign-in")


def test_no_other_server_of_the_house_plants_a_guests_seat():
    """A browser takes a name with this prefix from the host itself alone, and by TLS (RFC 6265bis 4.1.3.2)."""
    lan = House("", "bench", ("bench.quillmere.example:8321",), is_encrypted=True, is_lan=True)
    assert guest_cookie(lan).startswith("__Host-")
    assert guest_cookie(lan) != cookie_name(lan)


def test_a_station_for_others_needs_accounts(demo, tmp_path):
    """Else whoever reaches it might do everything."""
    from command import here

    book = tmp_path / "quillmere.pourbook"
    shutil.copy(demo, book)
    ran = here("station", "--lan", "--no-browser", book=book)
    assert ran.status == 1
    assert "account" in ran.err


def test_this_machine_knows_its_addresses():
    """Loopback at least."""
    assert "127.0.0.1" in local_addresses()
