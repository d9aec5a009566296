"""Ed25519 signatures (RFC 8032) of approvals, through the package ``cryptography``, which is loaded on first use."""

from __future__ import annotations

import base64
import binascii
import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from harnessdrc.approval.model import Signature
from harnessdrc.errors import CommandError

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

__all__ = ["Signer", "fingerprint", "holds", "public_key_of"]

_PURPOSE = b"harnessdrc approval 1\n"
"""What is signed begins so, that a signature over something else can never pass for one over an approval."""
_LARGEST_BYTES = 100_000
_FINGERPRINT_DIGITS = 32


class Signer:
    """A private key.

    Parameters
    ----------
    path : pathlib.Path
        PEM file with an Ed25519 private key, as ``openssl genpkey -algorithm ed25519`` writes it.
    ask_password : callable, optional
        Asks for the password of an encrypted key; None where nobody can be asked.

    Raises
    ------
    CommandError
        For a file that is none, for a key of another kind, for a wrong password, without ``cryptography``.
    """

    def __init__(self, path: Path, ask_password: Callable[[], str] | None = None) -> None:
        self._key = _private_key(path, ask_password)
        self.public_key = _raw(self._key.public_key())
        """The public key, 32 bytes."""

    @property
    def fingerprint(self) -> str:
        """Fingerprint of the public key."""
        return fingerprint(self.public_key)

    def sign(self, digest: str) -> Signature:
        """Signature over a digest in hexadecimal."""
        value = self._key.sign(_PURPOSE + digest.encode("ascii"))
        return Signature(_text(self.public_key), _text(value))


def fingerprint(public_key: bytes) -> str:
    """First 32 hexadecimal digits of the SHA-256 of a public key."""
    return hashlib.sha256(public_key).hexdigest()[:_FINGERPRINT_DIGITS]


def holds(signature: Signature, digest: str) -> bool:
    """Whether a signature over a digest is genuine.

    Raises
    ------
    CommandError
        Without ``cryptography``.
    """
    _require()
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        key = base64.b64decode(signature.public_key, validate=True)
        value = base64.b64decode(signature.value, validate=True)
        if (_text(key), _text(value)) != tuple(signature):  # one spelling only, or a changed letter could go unseen
            return False
        Ed25519PublicKey.from_public_bytes(key).verify(value, _PURPOSE + digest.encode("ascii"))
    except (InvalidSignature, ValueError, binascii.Error):
        return False
    return True


def public_key_of(path: Path) -> bytes:
    """Public key of a PEM file, 32 bytes; of a private key the one that belongs to it.

    Raises
    ------
    CommandError
        For a file that holds none.
    """
    _require()
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
    from cryptography.hazmat.primitives.serialization import load_pem_public_key

    data = _content(path, "--public-key")
    if b"PRIVATE KEY" in data:
        raise CommandError(
            f"--public-key {path}: this is a private key, which is for signing alone; give the public one "
            "(openssl pkey -in KEY.pem -pubout)."
        )
    try:
        key = load_pem_public_key(data)
    except Exception as error:  # the library raises many kinds; none of them is of use to the reader
        raise CommandError(f"--public-key {path}: expected an Ed25519 public key as PEM, found none.") from error
    if not isinstance(key, Ed25519PublicKey):
        raise CommandError(f"--public-key {path}: expected an Ed25519 key, found one of another kind.")
    return _raw(key)


def _private_key(path: Path, ask_password: Callable[[], str] | None) -> Ed25519PrivateKey:
    _require()
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    data = _content(path, "--key")
    password: bytes | None = None
    if b"ENCRYPTED" in data:
        if ask_password is None:
            raise CommandError(
                f"--key {path}: this key has a password; run the command on a terminal, which asks for it."
            )
        password = ask_password().encode()
    try:
        key = load_pem_private_key(data, password or None)
    except Exception as error:  # the library raises many kinds; none of them is of use to the reader
        found = "it does not open with this password" if password else "found none"
        raise CommandError(
            f"--key {path}: expected an Ed25519 private key as PEM, {found}; 'openssl genpkey -algorithm "
            f"ed25519' makes one."
        ) from error
    if not isinstance(key, Ed25519PrivateKey):
        raise CommandError(
            f"--key {path}: expected an Ed25519 key, found one of another kind; 'openssl genpkey -algorithm "
            f"ed25519' makes "
            "one."
        )
    return key


def _raw(key: Ed25519PublicKey) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    return key.public_bytes(Encoding.Raw, PublicFormat.Raw)


def _content(path: Path, option: str) -> bytes:
    try:
        if path.is_dir():
            raise CommandError(f"{option} {path}: this is a folder; give a PEM file.")
        with path.open("rb") as file:
            return file.read(_LARGEST_BYTES)
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise CommandError(
            f"{option} {path}: the file cannot be read ({reason}); check its name and your rights."
        ) from error


def _require() -> None:
    try:
        import cryptography  # noqa: F401
    except ImportError as error:
        raise CommandError(
            "signatures need the package cryptography, which is not installed; "
            "pip install 'harnessdrc[sign]' brings it."
        ) from error


def _text(data: bytes) -> str:
    return base64.b64encode(data).decode("ascii")
