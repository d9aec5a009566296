"""What a place is called that a probe goes to."""

from __future__ import annotations

from harnessdrc.harness.elements import Contact, Harness

__all__ = ["place_name"]


def place_name(harness: Harness, contact: Contact) -> str:
    """A contact as people write it; one without a cavity by its wire, so that no two places are called alike."""
    label = harness.label(contact)
    return f"{label}, wire {contact.cavity[1:]}" if contact.cavity.startswith("?") else label
