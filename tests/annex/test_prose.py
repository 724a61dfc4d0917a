from html.parser import HTMLParser

import pytest

from thermalkit.annex.prose import fragment_html, remark_html

ACTIVE = [
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "<svg onload=alert(1)></svg>",
    "<iframe srcdoc='<script>alert(1)</script>'></iframe>",
    "<a href='javascript:alert(1)'>x</a>",
    "<a href='data:text/html,<script>alert(1)</script>'>x</a>",
    "<a href='https://a.example' title='<img onerror=alert(1) src=x'>x</a>",
    "<a href='https://a.example' title='<h1 onclick=alert(1)>'>x</a>",
    "<form action=https://a.example><input></form>",
    "<div style='position:fixed'>x</div>",
    "<style>*{display:none}</style>",
    "<base href=https://a.example>",
    "<meta http-equiv=refresh content='0;url=https://a.example'>",
    "<math><mtext></mtext><script>alert(1)</script></math>",
]
NEVER = {"script", "svg", "iframe", "form", "input", "style", "base", "meta", "object", "embed", "link"}


class Found(HTMLParser):
    """Tags and attributes as a reader of HTML sees them."""

    def __init__(self, html):
        super().__init__()
        self.tags, self.attributes = [], []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs


@pytest.mark.parametrize("html", ACTIVE)
@pytest.mark.parametrize("clean", [fragment_html, remark_html, lambda t: fragment_html("Text\n\n" + t)])
def test_nothing_active_is_left(html, clean):
    """No tag that acts, no handler, no style, no address but of web pages and mail."""
    found = Found(clean(html))
    assert not NEVER & set(found.tags)
    for name, value in found.attributes:
        assert not name.startswith("on")
        assert name not in ("style", "id", "class")
        if name in ("href", "src"):
            assert value.startswith(("https://", "http://", "mailto:", "data:image/png"))


def test_what_a_script_or_style_says_is_gone_too():
    """Their text would only puzzle a reader."""
    assert fragment_html("<p>a</p><script>b()</script><style>c{}</style>") == "<p>a</p>"


def test_pictures_stay_only_where_the_fragment_carries_them():
    """A picture as data stays, one to be fetched loses its address; each has a description."""
    assert fragment_html('<img src="data:image/png;base64,AAAA">').count("data:image/png") == 1
    assert "src" not in fragment_html('<img src="https://a.example/x.png">')
    assert "src" not in fragment_html('<img src="data:image/svg+xml;base64,AAAA">')
    assert 'alt="plan"' in fragment_html('<img alt="plan" src="data:image/png;base64,AAAA">')
    assert 'alt=""' in fragment_html('<img src="data:image/png;base64,AAAA">')


def test_headings_follow_on_the_headings_of_the_page():
    """The highest heading of a fragment becomes the third level of the page."""
    assert [t for t in Found(fragment_html("# a\n\n## b\n\n###### c")).tags if t[0] == "h"] == [
        "h3",
        "h4",
        "h6",
    ]
    assert Found(fragment_html("<h2>a</h2><h3>b</h3>")).tags == ["h3", "h4"]
    assert Found(remark_html("## a")).tags == ["h4"]


def test_tables_of_a_notebook_stay():
    """Markdown tables and HTML tables keep their cells."""
    assert Found(fragment_html("| a | b |\n|---|---|\n| 1 | 2 |")).tags.count("td") == 2
    assert "<td>1</td>" in fragment_html("<table><tbody><tr><td>1</td></tr></tbody></table>")
