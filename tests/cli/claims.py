"""Words by which a text would claim that something cannot hurt, and the few phrases in which they do not."""

from __future__ import annotations

import re
from pathlib import Path

import pypdfium2

#: A claim in any wording: the word alone is enough, whatever stands beside it.
CLAIM = re.compile(
    r"\b(?:(?:fail-?|un)?safe(?:ly|r|st|ty|ties|guards?)?|harmless(?:ly)?|unharmed|hazard-?free|risk-?(?:free|less)|"
    r"danger-?(?:free|less)|not? (?:real |longer |more )?(?:a )?(?:dangers?|dangerous|hazards?|hazardous|risks?|risky)|"
    r"(?:without|free of|free from) (?:any )?(?:dangers?|hazards?|risks?)|"
    r"(?:can ?not|can't|will not|won't|could not) (?:hurt|harm|kill|injure|shock)|nothing to fear)\b",
    re.IGNORECASE,
)
#: Exact phrases in which such a word is no claim; nothing else is let through.
ALLOWED = (
    "safety gap",  # the name of a part: a spark gap set to fire first
    "safety-gap-missing",  # the tag of its absence
    "safety_gap",  # its key in the project file and in JSON
    "Streamers are not harmless because of skin effect.",  # the opposite of a claim
)


def claims(text: str) -> list[str]:
    """Return each claim in a text with what stands beside it, the allowed phrases apart."""
    plain = re.sub(r"\s+", " ", re.sub(r"[\u00ad\ufffe\x02]\s*", "", text))
    for phrase in ALLOWED:
        plain = re.sub(re.escape(phrase), "...", plain, flags=re.IGNORECASE)
    return [plain[max(0, m.start() - 40) : m.end() + 40] for m in CLAIM.finditer(plain)]


def pdf_text(path: Path) -> str:
    """Return the text of every page."""
    document = pypdfium2.PdfDocument(path.read_bytes())
    try:
        return "\n".join(page.get_textpage().get_text_range() for page in document)
    finally:
        document.close()
