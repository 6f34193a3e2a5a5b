"""Accessibility of pages, by axe-core as axe-playwright-python brings it: WCAG 2.2 AA, with best practice."""

from functools import lru_cache
from pathlib import Path

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@lru_cache
def _script():
    import axe_playwright_python

    found = next(Path(axe_playwright_python.__file__).parent.rglob("axe.min.js"))
    return found.read_text("utf-8")


def violations(page):
    """What axe finds on the page as it is shown: rule and what breaks it, in one line each."""
    page.evaluate(_script())
    found = page.evaluate("tags => axe.run(document, {runOnly: tags})", TAGS)
    return [
        f"{one['id']}: {node['target']} {node['html'][:120]}" for one in found["violations"] for node in one["nodes"]
    ]


def looked_over(chromium, url, light, dark, *, role=None):
    """What axe finds on pages, some wide and light, some on a phone and dark, every form open.

    Without thoroughness, pages that are asked for in both are looked at once, one in this way and one in that.
    """
    from stations import IS_COMPLETE, browsing

    if not IS_COMPLETE:
        both = [path for path in light if path in dark]
        light = [path for path in light if path not in both[1::2]]
        dark = [path for path in dark if path not in both[::2]]
    found = {}
    for scheme, width, paths in (("light", 1280, light), ("dark", 360, dark)):
        size = {"width": width, "height": 780}
        with browsing(chromium, url, role, viewport=size, color_scheme=scheme, bypass_csp=True) as watched:
            for path in paths:
                watched.goto(path)
                watched.page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
                faults = violations(watched.page)
                if watched.page.evaluate("document.documentElement.scrollWidth > innerWidth"):
                    faults.append("wider than the screen")
                if faults or watched.errors or watched.outside:
                    found[path] = [*faults, *watched.errors, *watched.outside]
    return found
