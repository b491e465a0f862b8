"""A strict TLS client takes the certificates; they vouch for private addresses only; their keys stay private."""

from __future__ import annotations

import stat
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from outpace.errors import OutpaceError
from outpace.surfaces.lan.authority import papers

NOW = datetime(2026, 4, 20, tzinfo=UTC)


def loaded(made):
    authority = x509.load_der_x509_certificate(made.authority.read_bytes())
    return authority, x509.load_pem_x509_certificate(made.certificate.read_bytes())


def test_the_chain_holds_for_its_addresses_and_for_no_other(tmp_path):
    # Witness: the path validation of the cryptography library (RFC 5280), which made none of the choices here.
    import ipaddress

    authority, server = loaded(papers(tmp_path, ["192.168.1.20"], NOW))
    for address, right in (("192.168.1.20", True), ("192.168.1.21", False)):
        policy = PolicyBuilder().store(Store([authority])).time(NOW)
        verifier = policy.build_server_verifier(x509.IPAddress(ipaddress.ip_address(address)))
        if right:
            assert verifier.verify(server, [])[-1] == authority
        else:
            with pytest.raises(VerificationError):
                verifier.verify(server, [])


def test_the_authority_says_that_it_vouches_for_private_networks_only(tmp_path):
    authority, _ = loaded(papers(tmp_path, ["192.168.1.20"], NOW))
    limits = authority.extensions.get_extension_for_class(x509.NameConstraints)
    assert limits.critical
    networks = [each.value for each in limits.value.permitted_subtrees if isinstance(each, x509.IPAddress)]
    assert networks
    assert all(network.is_private for network in networks)
    assert authority.extensions.get_extension_for_class(x509.BasicConstraints).value.path_length == 0


def test_keys_are_for_their_owner_only(tmp_path):
    folder = tmp_path / "network"
    papers(folder, ["10.0.0.5"], NOW)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    for name in ("authority.key", "server.key"):
        assert stat.S_IMODE((folder / name).stat().st_mode) == 0o600


def test_a_phone_trusts_once_the_server_renews_and_follows_its_address(tmp_path):
    first = papers(tmp_path, ["10.0.0.5"], NOW)
    authority, server = loaded(first)
    assert loaded(papers(tmp_path, ["10.0.0.5"], NOW + timedelta(days=30)))[1] == server
    assert loaded(papers(tmp_path, ["10.0.0.6"], NOW))[1] != server
    later = papers(tmp_path, ["10.0.0.6"], NOW + timedelta(days=380))
    assert later.fingerprint == first.fingerprint
    assert loaded(later)[0] == authority
    assert loaded(later)[1].not_valid_after_utc > NOW + timedelta(days=700)


@pytest.mark.parametrize("address", ["8.8.8.8", "2001:4860:4860::8888"])
def test_an_address_of_the_open_internet_is_refused(tmp_path, address):
    with pytest.raises(OutpaceError, match="not an address of a local network"):
        papers(tmp_path, [address], NOW)
