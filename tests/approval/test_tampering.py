"""Every field of an approval that is changed after it was made is noticed, with a key even where the digest is made anew."""

from __future__ import annotations

import copy
import datetime
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from harnessdrc.api import check_lists, load_rules
from harnessdrc.approval import (
    InHand,
    Signer,
    document_text,
    make_approval,
    read_document,
    refusals,
    ruleset_sha256,
    verify,
)
from harnessdrc.approval.document import canonical, digest_of
from harnessdrc.errors import InputError
from harnessdrc.results import SourceFile

pytest.importorskip("cryptography")

SAMPLE = Path(__file__).parents[2] / "sample_wirelists" / "clean" / "hill_climb_single_seater.xlsx"
DAY = datetime.date(2026, 11, 25)
CONCESSIONS = """
[[concession]]
rule = "two-ends"
subject = "W1"
reason = "none needed"
by = "K. Ostrander"
until = 2027-03-31
"""


def key_file(folder: Path, name: str) -> Path:
    from cryptography.hazmat.primitives import serialization as form
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    path = folder / f"{name}.pem"
    path.write_bytes(
        Ed25519PrivateKey.generate().private_bytes(form.Encoding.PEM, form.PrivateFormat.PKCS8, form.NoEncryption())
    )
    return path


@pytest.fixture(scope="module")
def signer(tmp_path_factory: pytest.TempPathFactory) -> Signer:
    return Signer(key_file(tmp_path_factory.mktemp("keys"), "own"))


@pytest.fixture(scope="module")
def document(tmp_path_factory: pytest.TempPathFactory, signer: Signer) -> dict[str, Any]:
    """A signed approval of a clean sample with a mapping, test sheets and an unused concession named in it."""
    folder = tmp_path_factory.mktemp("approval")
    file = folder / "accepted.toml"
    file.write_text(CONCESSIONS, encoding="utf-8")
    result = check_lists([SAMPLE], concessions=file, on=DAY)
    assert refusals(result) == ()
    _, ruleset = load_rules("engine-loom")
    approval = make_approval(
        result, ruleset, by="M. Lindqvist", on="2026-11-25", note="season", asked_for="engine-loom",
        mapping=SourceFile("map.toml", "2" * 64), measured=SourceFile("tests.xlsx", "3" * 64), signer=signer,
    )  # fmt: skip
    path = folder / "list.approval.json"
    path.write_bytes(document_text(approval))
    return read_document(path)


@pytest.fixture(scope="module")
def in_hand(document: dict[str, Any]) -> InHand:
    return InHand(tuple(SourceFile(each["file"], each["sha256"]) for each in document["inputs"]))


def leaves(value: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Ways to every value of a document that holds no others, a few of a long list."""
    if isinstance(value, dict) and value:
        for key, item in value.items():
            yield from leaves(item, (*way, key))
    elif isinstance(value, list) and value:
        for index in sorted({0, 1, len(value) - 1} & set(range(len(value)))):
            yield from leaves(value[index], (*way, index))
    else:
        yield way


def other(value: Any) -> Any:
    """Another value of the same type."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return value + 1
    if isinstance(value, str):
        return ("0" if value[:1] != "0" else "1") + value[1:]
    return ["more"] if isinstance(value, list) else "something"


def changed(document: dict[str, Any], way: tuple[Any, ...], *, take_out: bool = False) -> dict[str, Any]:
    made = copy.deepcopy(document)
    holder: Any = made
    for step in way[:-1]:
        holder = holder[step]
    if take_out:
        del holder[way[-1]]
    else:
        holder[way[-1]] = other(holder[way[-1]])
    return made


def test_untouched_it_is_the_same(document: dict[str, Any], in_hand: InHand, signer: Signer) -> None:
    verification = verify(document, in_hand, on=DAY, public_key=signer.public_key)
    assert verification.same
    assert verify(document, in_hand, on=DAY).same


def test_every_changed_or_missing_field_is_noticed(document: dict[str, Any], in_hand: InHand) -> None:
    ways = list(leaves(document))
    assert len(ways) > 100
    assert {way[0] for way in ways} == set(document), "no part of the document is left out"
    for way in ways:
        for take_out in (False, True):
            made = changed(document, way, take_out=take_out)
            assert made != document
            assert verify(made, in_hand, on=DAY).tampered, way


def test_a_field_that_is_added_is_noticed(document: dict[str, Any], in_hand: InHand) -> None:
    for way in ((), ("approved",), ("signature",), ("concessions",), ("inputs", 0)):
        made = copy.deepcopy(document)
        holder: Any = made
        for step in way:
            holder = holder[step]
        holder["more"] = 1
        assert verify(made, in_hand, on=DAY).tampered, way


def test_with_a_key_a_digest_made_anew_does_not_help(
    document: dict[str, Any], in_hand: InHand, signer: Signer, tmp_path: Path
) -> None:
    forger = Signer(key_file(tmp_path, "other"))
    for way in leaves(document):
        if way[0] in ("digest", "signature", "harnessdrc_approval"):
            continue
        made = changed(document, way)
        made["digest"] = digest_of(made)
        assert verify(made, in_hand, on=DAY).tampered, way
        # signed anew with a key of somebody else's, under its name or under the true one
        for key in (document["approved"]["key"], forger.fingerprint):
            made["approved"]["key"] = key
            made["digest"] = digest_of(made)
            signature = forger.sign(made["digest"])
            made["signature"] = {"algorithm": "Ed25519", "public_key": signature.public_key, "value": signature.value}
            assert verify(made, in_hand, on=DAY, public_key=signer.public_key).tampered, way
        # and with no signature at all
        made["approved"]["key"], made["signature"] = "", None
        made["digest"] = digest_of(made)
        assert verify(made, in_hand, on=DAY, public_key=signer.public_key).tampered, way


def test_a_signature_taken_out_is_noticed_without_a_key(document: dict[str, Any], in_hand: InHand) -> None:
    made = {**document, "signature": None}
    assert "its signature was taken out" in verify(made, in_hand, on=DAY).tampered[0]


def test_the_layout_of_the_file_does_not_count_but_its_numbers_do(
    document: dict[str, Any], in_hand: InHand, tmp_path: Path
) -> None:
    path = tmp_path / "x.approval.json"
    path.write_text(json.dumps(dict(reversed(document.items())), indent=8), encoding="utf-8")
    assert verify(read_document(path), in_hand, on=DAY).same
    made = copy.deepcopy(document)
    made["counts"]["wires"] = float(made["counts"]["wires"])
    assert verify(made, in_hand, on=DAY).tampered


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "not JSON"), ("[]", "no approval"), ('{"a": 1}', "no approval"),
        ('{"harnessdrc_approval": 1, "digest": "a", "digest": "b"}', "'digest' stands twice"),
        ('{"harnessdrc_approval": NaN}', "NaN is no number"), ("\ud83d", "not JSON"), ("[" * 100_000, "not JSON"),
    ],
)  # fmt: skip
def test_what_is_no_approval_is_refused(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "x.approval.json"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    with pytest.raises(InputError, match=words):
        read_document(path)


@pytest.mark.parametrize("content", [{}, {"harnessdrc_approval": 2}, {"harnessdrc_approval": 1, "inputs": 3}])
def test_a_genuine_one_of_another_form_is_refused(content: dict[str, Any], in_hand: InHand) -> None:
    made = {"harnessdrc_approval": 1, **content}
    made["digest"] = digest_of(made)
    with pytest.raises(InputError, match="another form"):
        verify(made, in_hand, on=DAY)


def test_the_canonical_form_is_that_of_sorted_keys_without_blanks() -> None:
    assert canonical({"b": [1, 2.5, None], "a": "grün\n"}) == '{"a":"grün\\n","b":[1,2.5,null]}'.encode()


def test_the_hash_of_a_ruleset_is_of_what_it_says(tmp_path: Path) -> None:
    _, shipped = load_rules("engine-loom")
    file = tmp_path / "copy.toml"
    text = (Path(__file__).parents[2] / "rulesets" / "engine-loom.toml").read_text("utf-8")
    file.write_text("# a remark\n" + text, encoding="utf-8")
    _, copied = load_rules(str(file))
    assert ruleset_sha256(copied) == ruleset_sha256(shipped)
    file.write_text(text.replace('grade = "query"', 'grade = "note"', 1), encoding="utf-8")
    _, other_one = load_rules(str(file))
    assert ruleset_sha256(other_one) != ruleset_sha256(shipped)
    _, given = load_rules("engine-loom", ["contact_mohm=9"])
    assert ruleset_sha256(given) == ruleset_sha256(shipped), "given values stand apart"


def test_ed25519_as_published(tmp_path: Path) -> None:
    """RFC 8032 section 7.1, test 1 (from memory): the public key that belongs to a private key."""
    from cryptography.hazmat.primitives import serialization as form
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    secret = bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
    path = tmp_path / "rfc.pem"
    key = Ed25519PrivateKey.from_private_bytes(secret)
    path.write_bytes(key.private_bytes(form.Encoding.PEM, form.PrivateFormat.PKCS8, form.NoEncryption()))
    assert Signer(path).public_key.hex() == "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
