"""Text of other people's making as harmless HTML."""

from __future__ import annotations

import re

from thermalkit.annex.wording import visible

_TAGS = {
    *("a", "b", "blockquote", "br", "caption", "code", "dd", "del", "div", "dl", "dt", "em", "figcaption"),
    *("figure", "h1", "h2", "h3", "h4", "h5", "h6", "hr", "i", "img", "ins", "kbd", "li", "mark", "ol", "p"),
    *("pre", "s", "samp", "small", "span", "strong", "sub", "sup", "table", "tbody", "td", "tfoot", "th"),
    *("thead", "tr", "u", "ul", "var"),
}
_ATTRIBUTES = {
    "a": {"href", "title"},
    "img": {"src", "alt", "width", "height"},
    "ol": {"start"},
    "td": {"colspan", "rowspan"},
    "th": {"colspan", "rowspan", "scope"},
}
_PICTURE = re.compile(r"data:image/(png|jpeg|gif|webp);base64,[A-Za-z0-9+/=\s]*")
_LINK = re.compile(r"(https?://|mailto:)", re.IGNORECASE)
_HEADING = re.compile(r"<(/?)h([1-6])>")
_UNDESCRIBED = re.compile(r"<img(?![^>]*\balt=)")
_DROPPED = {"script", "style", "iframe", "object", "template", "noscript", "svg", "math"}


def remark_html(markdown: str) -> str:
    r"""A surveyor's remark: Markdown without HTML and without pictures.

    Examples
    --------
    >>> remark_html("See [here](javascript:alert(1)), **now** <b>x</b>")
    '<p>See [here](javascript:alert(1)), <strong>now</strong> &lt;b&gt;x&lt;/b&gt;</p>\n'
    """
    from markdown_it import MarkdownIt

    reader = MarkdownIt("commonmark", {"html": False}).enable("table").disable("image")
    return _clean(reader.render(visible(markdown)), top=4)


def fragment_html(fragment: str) -> str:
    """A part of a consultant's notebook: HTML where it starts with a tag, else Markdown.

    Scripts, styles, frames, forms and whatever would be fetched are gone; pictures stay where the
    fragment carries them.

    Examples
    --------
    >>> fragment_html('<h1 onclick="x()">Check</h1><script>x()</script><img src="https://a.example/b.png">')
    '<h3>Check</h3><img alt="">'
    """
    from markdown_it import MarkdownIt

    fragment = visible(fragment)
    if fragment.lstrip().startswith("<"):
        return _clean(fragment, top=3)
    return _clean(MarkdownIt("commonmark", {"html": True}).enable("table").render(fragment), top=3)


def _clean(html: str, *, top: int) -> str:
    """Sanitised, headings moved so that the highest is of level `top` and fits under the page's own.

    What is edited as text is sanitised once more: nothing of it reaches the page by itself.
    """
    clean = _harmless(html)
    below = top - min((int(level) for _, level in _HEADING.findall(clean)), default=top)
    moved = _HEADING.sub(lambda tag: f"<{tag[1]}h{min(int(tag[2]) + below, 6)}>", clean)
    return _harmless(_UNDESCRIBED.sub('<img alt=""', moved))


def _harmless(html: str) -> str:
    import nh3

    return nh3.clean(
        html,
        tags=_TAGS,
        clean_content_tags=_DROPPED,
        attributes=_ATTRIBUTES,
        attribute_filter=_kept,
        url_schemes={"http", "https", "mailto", "data"},
    )


def _kept(tag: str, attribute: str, value: str) -> str | None:
    if attribute == "src":
        return value if _PICTURE.fullmatch(value) else None
    if attribute == "href":
        return value if _LINK.match(value) else None
    return value
