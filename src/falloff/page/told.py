"""What went wrong and what cannot be done, in sentences for the page."""

from __future__ import annotations

from falloff.errors import DocumentError, FalloffError, Fault


def sentences(error: BaseException) -> list[str]:
    """What went wrong, as people are told it."""
    if isinstance(error, FalloffError):
        return [told(fault) for fault in error.faults]
    return [f"this cannot be read: {error}"]


def told(fault: Fault) -> str:
    """One fault: what is wrong and what to do; where in the file is left out."""
    parts = [fault.what]
    if fault.expected:
        parts.append(f"expected {fault.expected}")
    if fault.found:
        parts.append(f"found {fault.found}")
    what = "; ".join(parts)
    return f"{what}. {fault.fix[:1].upper()}{fault.fix[1:]}." if fault.fix else f"{what}."


def cannot(what: str, fix: str = "") -> DocumentError:
    """The refusal of a change, in a sentence."""
    return DocumentError(Fault(what, fix=fix))
