"""Approval of one issue of a list: refused while anything is on hold, else a file that says what was approved.

The file tells the list from every other by the hashes of its bytes, and itself from every changed copy by a digest,
with a key by a signature (Ed25519) over it.
"""

from __future__ import annotations

from harnessdrc.approval.document import document_text, read_document
from harnessdrc.approval.making import Refusal, file_of, make_approval, refusals, ruleset_sha256
from harnessdrc.approval.model import Approval, ApprovedRuleset, Signature
from harnessdrc.approval.signing import Signer, public_key_of
from harnessdrc.approval.verifying import InHand, Verification, verify

__all__ = [
    "Approval",
    "ApprovedRuleset",
    "InHand",
    "Refusal",
    "Signature",
    "Signer",
    "Verification",
    "document_text",
    "file_of",
    "make_approval",
    "public_key_of",
    "read_document",
    "refusals",
    "ruleset_sha256",
    "verify",
]
