"""The rules of the built site, on small sites made for each."""

from __future__ import annotations

from pathlib import Path

import pytest
from bs4 import BeautifulSoup

from generator.checks import SITE_RULES, check_site
from generator.checks.support.site import read_page, read_site
from generator.diagnostics import Location, as_text

HEAD = '<!doctype html><html lang="en"><head><title>t</title></head><body>\n'


def site(folder: Path, files: dict[str, str]) -> Path:
    root = folder / "site"
    for name, text in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(HEAD + text if name.endswith(".html") else text, encoding="utf-8")
    return root


PROBLEMS: dict[str, tuple[dict[str, str], str]] = {
    "site-link-broken": (
        {
            "index.html": '<a href="skills/chocking/">x</a>\n<a href="a.pdf">p</a><script src="js/pacer.js"></script>',
            "skills/choking/index.html": '<a href="../../missing.html#x">x</a>',
        },
        "site/index.html:2:1: error: This link leads to `skills/chocking/`, and the site has no "
        "`skills/chocking/index.html`. [site-link-broken]\n"
        "    Did you mean `skills/choking/index.html`? If not: mend the link, or add what it leads to.\n"
        "site/index.html:3:1: error: This link leads to `a.pdf`, and the site has no `a.pdf`. [site-link-broken]\n"
        "    Mend the link, or add what it leads to.\n"
        "site/index.html:3:22: error: This script points to `js/pacer.js`, and the site has no `js/pacer.js`. "
        "[site-link-broken]\n"
        "    Mend the link, or add what it leads to.\n"
        "site/skills/choking/index.html:2:1: error: This link leads to `../../missing.html#x`, and the site has no "
        "`missing.html`. [site-link-broken]\n"
        "    Did you mean `index.html`? If not: mend the link, or add what it leads to.\n",
    ),
    "site-anchor-broken": (
        {"index.html": '<a href="a/#step-sael">x</a>\n<a href="#nowhere">y</a>', "a/index.html": '<p id="step-seal">s'},
        "site/index.html:2:1: error: This link leads to `a/#step-sael`, and `a/index.html` has nothing called "
        "`step-sael`. [site-anchor-broken]\n"
        "    Did you mean `step-seal`? If not: use an anchor that the page has.\n"
        "site/index.html:3:1: error: This link leads to `#nowhere`, and `index.html` has nothing called `nowhere`. "
        "[site-anchor-broken]\n"
        "    Use an anchor that the page has.\n",
    ),
    "site-image-silent": (
        {
            "index.html": '<img src="a.png">\n<a href="index.html"><img src="a.png" alt=" "></a>',
            "a.png": "",
        },
        "site/index.html:2:1: error: The image `a.png` has no text alternative. [site-image-silent]\n"
        "    Give it an `alt` that says what it shows.\n"
        "site/index.html:3:22: error: The image `a.png` has no text alternative. [site-image-silent]\n"
        "    Give it an `alt` that says what it shows.\n",
    ),
    "site-id-repeated": (
        {"index.html": '<h2 id="steps">A</h2>\n  <p id="steps">B</p>'},
        "site/index.html:3:3: error: This p has the id `steps`, which an earlier h2 has. [site-id-repeated]\n"
        "    Give one of them another id.\n"
        "    see site/index.html:2:1: the first is here\n",
    ),
    "site-off-origin": (
        {
            "index.html": '<script src="https://far.example/x.js"></script>\n'
            '<link rel="stylesheet" href="//far.example/x.css">\n'
            '<img alt="a" src="a.png" srcset="a.png 1x, https://far.example/b.png 2x">\n'
            '<iframe src="https://far.example/"></iframe>\n'
            '<p style="background: url(https://far.example/c.png)">x</p>',
            "a.png": "",
            "css/x.css": "/* url(https://kept.example) */\n@font-face { src: url('https://far.example/f.woff2') }\n"
            '@import "https://far.example/y.css";\n',
        },
        "site/css/x.css:2:19: error: This style sheet asks another site for `https://far.example/f.woff2`. "
        "[site-off-origin]\n    Keep the file with the site, and point to it there.\n"
        "site/css/x.css:3:1: error: This style sheet asks another site for `https://far.example/y.css`. "
        "[site-off-origin]\n    Keep the file with the site, and point to it there.\n"
        "site/index.html:2:1: error: This script asks another site for `https://far.example/x.js`. [site-off-origin]\n"
        "    Keep the file with the site, and point to it there.\n"
        "site/index.html:3:1: error: This link asks another site for `//far.example/x.css`. [site-off-origin]\n"
        "    Keep the file with the site, and point to it there.\n"
        "site/index.html:4:1: error: This img asks another site for `https://far.example/b.png`. [site-off-origin]\n"
        "    Keep the file with the site, and point to it there.\n"
        "site/index.html:5:1: error: This iframe asks another site for `https://far.example/`. [site-off-origin]\n"
        "    Keep the file with the site, and point to it there.\n"
        "site/index.html:6:1: error: This p asks another site for `https://far.example/c.png`. [site-off-origin]\n"
        "    Keep the file with the site, and point to it there.\n",
    ),
}


@pytest.mark.parametrize("rule", sorted(PROBLEMS))
def test_a_problem_is_told_exactly(rule: str, tmp_path: Path) -> None:
    files, expected = PROBLEMS[rule]
    found = as_text(check_site(site(tmp_path, files)))
    assert f"[{rule}]" in found
    assert found == expected


def test_every_site_rule_has_a_problem_here() -> None:
    assert {rule.RULE for rule in SITE_RULES} == set(PROBLEMS)
    assert len(PROBLEMS) == 5


SILENT: dict[str, dict[str, str]] = {
    "links that stand": {
        "index.html": '<a href="a/">1</a><a href="a/index.html#x">2</a><a href="./a">3</a><a href="#top">4</a>'
        '<a href="">5</a><a href="a/#old">6</a><a href="a/#caf%C3%A9">7</a><a href="a/?q=1#x">8</a>'
        '<a href="my%20file.pdf">9</a><a href="a/#:~:text=hello">10</a><a>no address</a>',
        "a/index.html": '<p id="x">x</p><a name="old"></a><p id="café">c</p><a href="..">up</a><a href="../">up</a>',
        "my file.pdf": "",
    },
    "links that leave": {
        "index.html": '<a href="https://far.example/">1</a><a href="mailto:lab@greywater.example">2</a>'
        '<a href="tel:+10000000">3</a><a href="javascript:void(0)">4</a>'
        '<link rel="alternate" href="https://far.example/feed"><link rel="license" href="https://far.example/l">',
    },
    "decoration and inline pictures": {
        "index.html": '<img src="a.png" alt="Thumbs on the rim"><img src="a.png" alt="">'
        '<a href="index.html"><img src="a.png" alt=""> Home</a><img src="data:image/png;base64,AA==" alt="Dot">'
        '<p style="background:url(data:image/png;base64,AA==)">x</p>',
        "a.png": "",
    },
    "its own published address": {
        "index.html": '<link rel="canonical" href="https://greywater.example/handbook/">'
        '<script src="https://greywater.example/handbook/x.js"></script><a href="/handbook/a/#x">a</a>'
        '<a href="https://greywater.example/handbook/a/">b</a><a href="/another-site/">c</a>',
        "a/index.html": '<link rel="canonical" href="https://greywater.example/handbook/a/"><p id="x">x</p>',
        "404.html": '<link rel="icon" href="/handbook/x.js"><a href="/handbook/">home</a>',
        "x.js": "",
    },
}


@pytest.mark.parametrize("name", sorted(SILENT))
def test_what_is_right_is_left_in_silence(name: str, tmp_path: Path) -> None:
    assert as_text(check_site(site(tmp_path, SILENT[name]))) == ""


def test_the_published_address_does_not_hide_a_broken_link(tmp_path: Path) -> None:
    files = dict(SILENT["its own published address"])
    files["404.html"] = '<a href="/handbook/gone/">x</a>'
    assert [problem.rule for problem in check_site(site(tmp_path, files))] == ["site-link-broken"]


def every_page_here() -> list[tuple[str, str]]:
    pages = [(f"{rule}/{name}", HEAD + text) for rule, (files, _) in PROBLEMS.items() for name, text in files.items()]
    pages += [(f"{rule}/{name}", HEAD + text) for rule, files in SILENT.items() for name, text in files.items()]
    tricky = (
        "<p id=plain>x<p id='two words'>y<p id>z<a href='&amp;x?a=1&b=2'>q</a><!-- <a href=no> --><script>"
        "'<a href=no>'</script><template><a href=yes>t</a></template><svg><use href='#s' id=s /></svg>\n\n"
        '<table><tr><td id=cell><a href = "spaced" >s</a><a href=b id=b>'
    )
    return [*((name, page) for name, page in pages if name.endswith(".html")), ("tricky.html", HEAD + tricky)]


@pytest.mark.parametrize(("name", "html"), every_page_here())
def test_the_reader_agrees_with_beautifulsoup(name: str, html: str) -> None:
    """Outside check: the same links, ids and places as BeautifulSoup finds."""
    page = read_page(html, name, name)
    soup = BeautifulSoup(html, "html.parser")
    tags = [(tag, Location(name, tag.sourceline or 0, (tag.sourcepos or 0) + 1)) for tag in soup.find_all(True)]
    assert [(use.value, use.location) for use in page.links] == [
        (tag["href"], at) for tag, at in tags if tag.name in ("a", "area") and tag.has_attr("href")
    ]
    assert [(use.value, use.location) for use in page.ids] == [
        (tag["id"], at) for tag, at in tags if tag.has_attr("id")
    ]
    assert {use.location for use in page.silent_images} >= {
        at for tag, at in tags if tag.name == "img" and not tag.has_attr("alt")
    }


def test_what_looks_like_a_tag_in_plain_text_is_none() -> None:
    """HTML Standard, 13.2.6: title, textarea, script and style hold no tags. Python's tokenizer differs by version."""
    html = "<title><a href=t></title><textarea><a href=raw></a></textarea>\n<a href=b>b</a>"
    page = read_page(html, "x.html", "x.html")
    assert [(use.value, use.location.line) for use in page.links] == [("b", 2)]


def test_a_page_that_is_not_utf8_is_read_all_the_same(tmp_path: Path) -> None:
    root = site(tmp_path, {"index.html": '<p id="x">x</p>'})
    (root / "b.html").write_bytes(b'<p>\xff\xfe</p><a href="index.html#x">x</a>')
    assert check_site(root) == ()
    assert len(read_site(root).pages) == 2


def test_a_folder_without_pages_is_not_taken_for_a_clean_site_by_accident(tmp_path: Path) -> None:
    """The count is there to be asserted by whoever checks a build."""
    assert len(read_site(tmp_path).pages) == 0
