"""The shop's certificate, judged by the system's own TLS and by another library's path validation."""

from __future__ import annotations

import ipaddress
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from tundish.store.errors import StoreError
from tundish.web.certificate import ENDING, FOLDER, SERVER_DAYS, papers_for, refuse_public

NAMES = ("192.168.7.20", "bench.local")
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def held(path: Path) -> list[x509.Certificate]:
    return x509.load_pem_x509_certificates(path.read_bytes())


def valid(root: bytes, chain: list[x509.Certificate], name: str, when: datetime = NOW) -> bool:
    """Whether a browser that trusts the root only would take the server for that name, by the rules of RFC 5280."""
    try:
        subject: x509.DNSName | x509.IPAddress = x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        subject = x509.DNSName(name)
    policy = PolicyBuilder().store(Store([x509.load_der_x509_certificate(root)])).time(when)
    try:
        policy.build_server_verifier(subject).verify(chain[0], [])
    except VerificationError:
        return False
    return True


def test_it_holds_for_its_names_and_no_others(tmp_path: Path) -> None:
    papers = papers_for(tmp_path, NAMES, NOW)
    chain = held(papers.chain)
    assert [valid(papers.root, chain, name) for name in NAMES] == [True, True]
    assert not any(valid(papers.root, chain, name) for name in ("192.168.7.21", "other.local", "bench.example"))
    assert not valid(papers.root, chain, NAMES[0], NOW + timedelta(days=SERVER_DAYS))


def test_another_shops_root_does_not_vouch_for_it(tmp_path: Path) -> None:
    papers, other = papers_for(tmp_path / "a", NAMES, NOW), papers_for(tmp_path / "b", NAMES, NOW)
    assert not valid(other.root, held(papers.chain), NAMES[0])


def test_keys_are_nobody_elses_to_read(tmp_path: Path) -> None:
    papers_for(tmp_path, NAMES, NOW)
    assert all(path.stat().st_mode & 0o077 == 0 for path in (tmp_path / FOLDER).iterdir())
    assert sorted(path.name for path in (tmp_path / FOLDER).iterdir()) == [
        "root.key", "root.pem", "server.key", "server.pem",
    ]  # fmt: skip


def test_it_is_made_anew_only_when_needed(tmp_path: Path) -> None:
    first = papers_for(tmp_path, NAMES, NOW)
    before = first.chain.read_bytes()
    assert papers_for(tmp_path, NAMES, NOW + timedelta(days=200)).chain.read_bytes() == before
    later = papers_for(tmp_path, NAMES, NOW + timedelta(days=SERVER_DAYS - ENDING))
    assert later.chain.read_bytes() != before
    moved = papers_for(tmp_path, ("10.0.0.9", "bench.local"), NOW)
    # Phones that installed the root need not do it again
    assert moved.root == first.root and valid(first.root, held(moved.chain), "10.0.0.9")


def test_a_broken_file_is_made_anew(tmp_path: Path) -> None:
    papers = papers_for(tmp_path, NAMES, NOW)
    papers.chain.write_text("nonsense", encoding="utf-8")
    assert valid(papers.root, held(papers_for(tmp_path, NAMES, NOW).chain), NAMES[0])


def test_the_root_says_what_it_may_vouch_for(tmp_path: Path) -> None:
    root = x509.load_der_x509_certificate(papers_for(tmp_path, NAMES, NOW).root)
    bounds = root.extensions.get_extension_for_class(x509.NameConstraints)
    assert bounds.critical
    nets = [one.value for one in bounds.value.permitted_subtrees or [] if isinstance(one, x509.IPAddress)]
    assert all(net.is_private for net in nets) and len(nets) == 8


@pytest.mark.parametrize("name", ["8.8.8.8", "bench.example", "172.32.0.1", "2001:db8::1", "evil.local.example"])
def test_a_public_name_is_refused(name: str) -> None:
    with pytest.raises(StoreError, match=name):
        refuse_public([name])


@pytest.mark.parametrize("name", ["10.1.2.3", "172.31.0.1", "192.168.0.1", "fd00::1", "bench.local", "bench", "a.home.arpa"])
def test_a_private_name_is_taken(name: str) -> None:
    refuse_public([name])
