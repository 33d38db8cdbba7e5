"""A drawn picture made fit for a page: its colours follow the page's light and dark, and it is read as one image.

A picture's colours are known (report/map.py); the style sheet turns each into paper, ink or accent of the page by its attribute.
"""

import re

_SPOKEN = re.compile(r'\s(?:role|aria-[a-z]+|font-family|pointer-events)="[^"]*"')
_OUTER = re.compile(r'<svg\b[^>]*?viewBox="([^"]+)"[^>]*>')
_BACKGROUND = re.compile(r'<rect width="[\d.]+" height="[\d.]+" fill="#fbfaf6"/>')

_PLACES = re.compile(r'\s(?:d|transform|x|y|x1|x2|y1|y2|width|height)="[^"]*"')
_LONG = re.compile(r"-?\d+\.\d{3,}")
_PATH = re.compile(r'<path d="(M[^"]*)"([^>]*)/>')


def for_page(svg: str) -> str:
    """The picture without fixed size, own font, background and spoken parts; the page says in words what it shows."""
    plain = _SPOKEN.sub("", svg)
    plain = re.sub(r'\sclass="(?:mark|background|foreground)[^"]*"', "", plain)
    plain = _BACKGROUND.sub("", plain, count=1)
    plain = _PLACES.sub(lambda place: _LONG.sub(lambda number: f"{float(number[0]):.2f}", place[0]), plain)
    plain = _joined(plain)
    return _OUTER.sub(r'<svg viewBox="\1" class="picture" focusable="false" aria-hidden="true">', plain, count=1)


def _joined(svg: str) -> str:
    """Neighbouring paths that differ in nothing but their outline (the cells of a shade) as one: a phone has less to read."""
    parts: list[str] = []
    end, held = 0, ("", "")
    for path in _PATH.finditer(svg):
        outline, rest = path[1], path[2]
        if parts and path.start() == end and rest == held[1]:
            held = (held[0] + outline, rest)
            parts[-1] = f'<path d="{held[0]}"{rest}/>'
        else:
            held = (outline, rest)
            parts += [svg[end : path.start()], path[0]]
        end = path.end()
    return "".join([*parts, svg[end:]])
