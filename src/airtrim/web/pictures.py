"""A drawn picture made fit for a page: its colours follow the page's light and dark, and it is read as one image.

A picture's colours are known (report/map.py); the style sheet turns each into paper, ink or accent of the page by its attribute.
"""

import re

_SPOKEN = re.compile(r'\s(?:role|aria-[a-z]+|font-family|pointer-events)="[^"]*"')
_OUTER = re.compile(r'<svg\b[^>]*?viewBox="([^"]+)"[^>]*>')
_BACKGROUND = re.compile(r'<rect width="[\d.]+" height="[\d.]+" fill="#fbfaf6"/>')


def for_page(svg: str) -> str:
    """The picture without fixed size, own font, background and spoken parts; the page says in words what it shows."""
    plain = _SPOKEN.sub("", svg)
    plain = re.sub(r'\sclass="(?:mark|background|foreground)[^"]*"', "", plain)
    plain = _BACKGROUND.sub("", plain, count=1)
    return _OUTER.sub(r'<svg viewBox="\1" class="picture" focusable="false" aria-hidden="true">', plain, count=1)
