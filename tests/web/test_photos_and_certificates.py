"""Photos are made anew; certificates hold against a real handshake and a general verifier."""

import io
import socket
import ssl
import threading
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from uuid import uuid4

import pytest
from cryptography import x509
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError
from PIL import Image

from nuttery.web.security.authority import certificates

NOW = datetime.now(UTC)


def picture(kind="JPEG", size=(2400, 1200), exif=None):
    out = io.BytesIO()
    image = Image.new("RGB", size, "green")
    image.paste("red", (0, 0, 100, 100))
    image.save(out, kind, **({"exif": exif} if exif else {}))
    return out.getvalue()


def placed():
    """What a camera writes: place, maker, and that the picture lies on its side."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x010F] = "a maker"
    exif.get_ifd(0x8825)[2] = (46.0, 6.0, 0.0)
    return exif


def put(client, body, photo=None, **told):
    return client.put(
        f"/api/photos/{photo or uuid4()}",
        content=body,
        params=told,
        headers={"content-type": "image/jpeg"},
    )


def test_place_and_camera_are_gone_and_the_picture_stands_upright(client):
    photo = uuid4()
    assert put(client, picture(exif=placed()), photo).json() == {"photo": f"{photo}.jpg"}
    answer = client.get(f"/api/photos/{photo}")
    assert answer.headers["content-type"] == "image/jpeg"
    kept = Image.open(io.BytesIO(answer.content))
    assert not kept.getexif()
    assert b"a maker" not in answer.content
    assert kept.size == (800, 1600)
    assert kept.getpixel((790, 5))[0] > 200  # the corner that was top left is now top right


def test_place_is_kept_where_it_is_wanted(client):
    photo = uuid4()
    put(client, picture(exif=placed()), photo, keep_place=True)
    kept = Image.open(io.BytesIO(client.get(f"/api/photos/{photo}").content))
    assert kept.getexif()[0x010F] == "a maker"
    assert 0x0112 not in kept.getexif()


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_other_pictures_become_jpeg(client, kind):
    photo = uuid4()
    assert put(client, picture(kind), photo).status_code == 200
    assert client.get(f"/api/photos/{photo}").content[:3] == b"\xff\xd8\xff"


@pytest.mark.parametrize(
    "body",
    [
        pytest.param(b"", id="nothing"),
        pytest.param(b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", id="svg"),
        pytest.param(b"<html><script>alert(1)</script>", id="html"),
        pytest.param(b"\xff\xd8\xff\xe0" + b"\x00" * 500, id="jpeg by its first bytes only"),
        pytest.param(picture()[:900], id="cut short"),
        pytest.param(b"GIF89a" + b"\x00" * 100, id="gif"),
    ],
)
def test_what_is_no_picture_is_refused_by_content(client, body):
    photo = uuid4()
    answer = put(client, body, photo)
    assert answer.status_code in {415, 422}
    assert client.get(f"/api/photos/{photo}").status_code == 404


def test_a_picture_that_unpacks_too_large_is_refused(client):
    flat = io.BytesIO()
    Image.new("1", (12_000, 12_000)).save(flat, "PNG")
    assert put(client, flat.getvalue()).status_code == 415


def test_the_same_photo_again_changes_nothing(client):
    photo = uuid4()
    put(client, picture(), photo)
    first = client.get(f"/api/photos/{photo}").content
    assert put(client, picture(size=(10, 10)), photo).status_code == 200
    assert client.get(f"/api/photos/{photo}").content == first


@pytest.mark.parametrize("name", ["..%2f..%2fbank.db", "bank.db", "%00", "a/../../bank.db"])
def test_no_path_can_be_asked_for_as_a_photo(client, name):
    assert client.get(f"/api/photos/{name}").status_code in {404, 422}
    assert put(client, picture(), name).status_code in {403, 404, 405, 422}


def test_a_photo_goes_into_the_archive_and_comes_back(client, bank, make_note, tmp_path):
    from nuttery.season.own_folder import photos_of
    from nuttery.season.upkeep import archive_planting, check_planting, restore_planting

    photo, back = uuid4(), tmp_path / "back.db"
    put(client, picture(), photo)
    note = make_note(photo=f"{photo}.jpg")
    client.post("/api/notes", json={"notes": [note]})
    archive_planting(bank, tmp_path / "all.zip")
    restore_planting(tmp_path / "all.zip", back)
    file = photos_of(back) / f"{photo}.jpg"
    assert file.read_bytes() == client.get(f"/api/photos/{photo}").content
    assert check_planting(back) == ()
    file.unlink()
    (trouble,) = check_planting(back)
    assert str(trouble) == f"note {note['id']}: its photo is not at {file}"


@pytest.fixture
def made(tmp_path):
    return certificates(tmp_path, ("192.168.1.5", "barn.local", "127.0.0.1"), NOW)


def test_a_general_verifier_takes_the_chain_for_the_names_it_is_for(made):
    leaf = x509.load_pem_x509_certificates(made.chain.read_bytes())[0]
    authority = x509.load_pem_x509_certificate(made.authority.read_bytes())
    policy = PolicyBuilder().store(Store([authority])).time(NOW)
    for name in (x509.DNSName("barn.local"), x509.IPAddress(ip_address("192.168.1.5"))):
        assert policy.build_server_verifier(name).verify(leaf, [])
    with pytest.raises(VerificationError, match="no matching subjectAltName"):
        policy.build_server_verifier(x509.DNSName("example.org")).verify(leaf, [])


def test_the_chain_holds_in_a_real_handshake_and_only_with_our_authority(made):
    server = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    server.load_cert_chain(made.chain, made.key)
    with socket.create_server(("127.0.0.1", 0)) as listening:
        port = listening.getsockname()[1]

        def answer():
            for _ in range(2):
                taken, _ = listening.accept()
                try:
                    server.wrap_socket(taken, server_side=True).close()
                except OSError:
                    taken.close()

        thread = threading.Thread(target=answer, daemon=True)
        thread.start()
        trusting = ssl.create_default_context(cafile=made.authority)
        with socket.create_connection(("127.0.0.1", port)) as plain:
            trusting.wrap_socket(plain, server_hostname="127.0.0.1").close()
        strange = ssl.create_default_context()
        with (
            socket.create_connection(("127.0.0.1", port)) as plain,
            pytest.raises(ssl.SSLCertVerificationError, match="certificate verify failed"),
        ):
            strange.wrap_socket(plain, server_hostname="127.0.0.1")
        thread.join(timeout=5)


def test_lengths_keys_and_limits_are_as_phones_ask(made):
    leaf, authority = x509.load_pem_x509_certificates(made.chain.read_bytes())
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc == timedelta(days=397)
    assert leaf.public_key().curve.name == "secp256r1"
    limits = authority.extensions.get_extension_for_class(x509.BasicConstraints)
    assert (limits.critical, limits.value.ca, limits.value.path_length) == (True, True, 0)
    names = authority.extensions.get_extension_for_class(x509.NameConstraints)
    assert names.critical
    told = {str(one.value) for one in names.value.permitted_subtrees}
    assert {"local", "192.168.0.0/16", "10.0.0.0/8"} <= told


def test_our_authority_refuses_to_vouch_for_the_public_web(tmp_path):
    for name in ("example.org", "93.184.215.14", "local.example.org", "evil-local"):
        with pytest.raises(ValueError, match=f"found '{name}', expected a private address"):
            certificates(tmp_path, (name,), NOW)


def test_a_leaf_by_our_authority_for_a_public_name_would_not_hold(made, tmp_path):
    """Whoever stole the authority's key could still not pass as a public site."""
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric import ec

    from nuttery.web.security.authority import _leaf

    authority = x509.load_pem_x509_certificate(made.authority.read_bytes())
    stolen = serialization.load_pem_private_key((tmp_path / "authority.key").read_bytes(), None)
    key = ec.generate_private_key(ec.SECP256R1())
    forged = _leaf(authority, stolen, key, ("example.org",), NOW)
    policy = PolicyBuilder().store(Store([authority])).time(NOW)
    with pytest.raises(VerificationError, match="constraint"):
        policy.build_server_verifier(x509.DNSName("example.org")).verify(forged, [])


def test_certificates_are_kept_and_renewed_before_they_end(tmp_path):
    first = certificates(tmp_path, ("192.168.1.5",), NOW)
    leaf, authority = first.chain.read_bytes(), first.authority.read_bytes()
    assert certificates(tmp_path, ("192.168.1.5",), NOW).chain.read_bytes() == leaf
    moved = certificates(tmp_path, ("192.168.1.6",), NOW)
    assert moved.chain.read_bytes() != leaf
    later = certificates(tmp_path, ("192.168.1.6",), NOW + timedelta(days=350))
    assert later.authority.read_bytes() == authority
    renewed = x509.load_pem_x509_certificates(later.chain.read_bytes())[0]
    assert renewed.not_valid_after_utc > NOW + timedelta(days=700)


def test_keys_are_for_their_owners_eyes(made):
    for name in ("authority.key", "server.key"):
        assert (made.chain.parent / name).stat().st_mode & 0o077 == 0
