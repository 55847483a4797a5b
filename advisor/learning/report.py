"""What a log teaches as one HTML file that needs nothing else, with pictures."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterator
from hashlib import sha256
from html import escape

from advisor.learning.contradictions import NAMES
from advisor.learning.pictures import Picture, pictures
from advisor.learning.show import told_once
from advisor.learning.teach import Lesson

_STYLE = """
body{margin:0 auto;max-width:72rem;padding:1rem;color:#1b2025;background:#f4f5f3;
font:1rem/1.5 system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans","Liberation Sans",sans-serif}
section{background:#fff;border:1px solid #cdd2d6;border-radius:.5rem;padding:1rem 1.1rem;margin:1rem 0}
h1{font-size:1.7rem;line-height:1.2}h2{font-size:1.3rem;margin:0 0 .6rem}
table{border-collapse:collapse;width:100%;font-size:.92rem}
th,td{text-align:left;padding:.25rem .6rem;border-bottom:1px solid #cdd2d6}
td.n,th.n{text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums}
figure{margin:1rem 0}figcaption{color:#535a61}img{max-width:100%;height:auto}
.wide{overflow-x:auto}
@media print{body{background:#fff}section{border:0;padding:0}}
"""


def to_html(lesson: Lesson) -> str:
    """The report. No script, nothing fetched; text from the log is escaped."""
    style = _STYLE.strip()
    mark = b64encode(sha256(style.encode()).digest()).decode()
    policy = f"default-src 'none'; img-src data:; style-src 'sha256-{mark}'"
    head = (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>What the trials teach</title>\n<style>{style}</style>\n</head>\n<body>\n"
    )
    count = lesson.learned.trials
    opening = (
        f"<h1>What {count:,} trial{'s' if count != 1 else ''} teach</h1>\n<p>A factor is measured over predicted "
        "by the published coefficients, on fresh media. Nothing is changed by this report; people decide.</p>\n"
    )
    return head + opening + "\n".join(_sections(lesson)) + "\n</body>\n</html>\n"


def _sections(lesson: Lesson) -> Iterator[str]:
    drawn = pictures(lesson)
    for found in lesson.fits:
        title = NAMES[found.coefficient][0]
        own = [picture for picture in drawn if picture.name.startswith(f"{found.coefficient}-")]
        figures = "\n".join(_figure(picture) for picture in own)
        name, table = escape(title[0].upper() + title[1:]), _table(lesson, found.coefficient)
        yield f"<section>\n<h2>{name}</h2>\n{figures}\n{table}</section>"
    told = [item.sentence() for item in lesson.contradictions]
    told += [said for item in lesson.drifts if (said := item.sentence())]
    if told:
        points = "\n".join(f"<li>{escape(text)}</li>" for text in told)
        yield f"<section>\n<h2>Look at these first</h2>\n<ul>\n{points}\n</ul>\n</section>"
    if lesson.unread:
        points = "\n".join(f"<li>{escape(f'{item.trial}: {item.why}.')}</li>" for item in lesson.unread[:40])
        more = f"<p>and {len(lesson.unread) - 40} more</p>" if len(lesson.unread) > 40 else ""
        yield f"<section>\n<h2>Measured, but not used</h2>\n<ul>\n{points}\n</ul>\n{more}</section>"


def _figure(picture: Picture) -> str:
    data = b64encode(picture.svg.encode()).decode()
    return (
        f'<figure><img src="data:image/svg+xml;base64,{data}" alt="{escape(picture.words)}">'
        f"<figcaption>{escape(picture.caption)}. {escape(picture.words)}</figcaption></figure>"
    )


def _table(lesson: Lesson, coefficient: str) -> str:
    head = (
        '<tr><th>scope</th><th class="n">trials</th><th class="n">factor</th><th class="n">95 % band</th>'
        '<th class="n">wider scope says</th></tr>'
    )
    rows = "\n".join(
        f'<tr><td>{escape(name)}</td><td class="n">{row.trials:,}</td><td class="n">{row.factor:.2f}</td>'
        f'<td class="n">{row.low:.2f} to {row.high:.2f}</td><td class="n">{row.prior_factor:.2f}</td></tr>'
        for name, row in told_once(lesson.learned.factors)
        if row.coefficient == coefficient
    )
    return f'<div class="wide"><table>\n{head}\n{rows}\n</table></div>\n'
