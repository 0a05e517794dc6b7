"""Lengths as a job file writes them, in mm. Written from the job file's
reference; a bare number is refused, as the job refuses it."""
import re

MM = {"mm": 1.0, "m": 1000.0, "cm": 10.0, "in": 25.4, '"': 25.4, "ft": 304.8, "'": 304.8}
PIECE = re.compile(r"\s*([-+]?)\s*((?:\d+\.?\d*|\.\d+)?(?:[\s-]*\d+/\d+)?)\s*(mm|cm|m|in|ft|\"|')")


def mm(text):
    """'12.7 mm', '1/2 in', '5 ft 3 1/2 in' in mm."""
    if not isinstance(text, str):
        raise ValueError(f"length without a unit: {text!r}")
    total, at, sign = 0.0, 0, 1.0
    while at < len(text.rstrip()):
        m = PIECE.match(text, at)
        if not m or not m.group(2).strip():
            raise ValueError(f"not a length: {text!r}")
        if m.group(1) == "-":
            sign = -1.0
        total += number(m.group(2)) * MM[m.group(3)]
        at = m.end()
    return sign * total


def number(text):
    """'3', '3.5', '1/2', '1 3/4', '3-1/2'."""
    total = 0.0
    for word in re.split(r"[\s-]+", text.strip()):
        if "/" in word:
            a, b = word.split("/")
            total += float(a) / float(b)
        else:
            total += float(word)
    return total
