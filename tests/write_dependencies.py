"""Writes DEPENDENCIES.toml from what is installed: `python tests/write_dependencies.py`, after an upgrade.

What the wheel needs, with all that those need in turn; a build has none of it at hand, so the list is kept. Licences
are those of each package's own metadata; where these give no SPDX expression, one was read from its licence, below.
"""

import tomllib
from importlib.metadata import distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
READ = {
    "click-default-group": "BSD-3-Clause",
    "contourpy": "BSD-3-Clause",
    "cycler": "BSD-3-Clause",
    "jinja2": "BSD-3-Clause",
    "kiwisolver": "BSD-3-Clause",
    "matplotlib": "LicenseRef-matplotlib",  # made after the PSF's
    "pypdfium2": "BSD-3-Clause AND Apache-2.0",  # PDFium's parts, permissive alike: its BUILD_LICENSES
    "pyserial": "BSD-3-Clause",  # as its project says; the package holds no text
    "qrcode": "BSD-3-Clause",
    "reportlab": "BSD-3-Clause",
    "scipy": "BSD-3-Clause",  # and of the run-time libraries in its wheels, each in its LICENSE.txt
    "sqlite-fts4": "Apache-2.0",
}
"""SPDX expressions, by package, where metadata have none; read in the licence that came with it."""
_PLAIN = frozenset({"Apache-2.0", "BSD-3-Clause", "MIT"})


def licence_of(name):
    """The SPDX expression of an installed package."""
    metadata = distribution(name).metadata
    stated = metadata.get("License-Expression") or metadata.get("License")
    if name in READ:
        return READ[name]
    assert metadata.get("License-Expression") or stated in _PLAIN, f"read the licence of {name}: {stated!r}"
    return stated


def applies(requirement, extras):
    return requirement.marker is None or any(requirement.marker.evaluate({"extra": one}) for one in extras or ("",))


def needed_by(name, extras=()):
    """The requirements of an installed package that hold on this machine."""
    found = [Requirement(text) for text in distribution(name).requires or ()]
    return [one for one in found if applies(one, ("", *extras))]


def declared():
    """(requirement, the extra that asks for it or None) of pyproject, but for what only tests need."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    yield from ((Requirement(text), None) for text in project["dependencies"])
    for extra, texts in project["optional-dependencies"].items():
        if extra != "test":
            yield from ((Requirement(text), extra) for text in texts)


def resolved():
    """By name: version, licence, names of what it needs; all that `declared` reaches on this machine."""
    found, waiting = {}, [one for one, _ in declared() if applies(one, ("",))]
    while waiting:
        requirement = waiting.pop()
        name = canonicalize_name(requirement.name)
        needs = needed_by(name, tuple(requirement.extras))
        before = found.get(name, {"needs": []})["needs"]
        after = sorted({*before, *(canonicalize_name(one.name) for one in needs)})
        if name not in found or after != before:
            found[name] = {"version": distribution(name).version, "licence": licence_of(name), "needs": after}
            waiting += needs
    return dict(sorted(found.items()))


def written(packages):
    lines = [
        "# What the wheel needs, in the versions that its checks ran with: for the bill of materials built into it.",
        "# Written by tests/write_dependencies.py from what is installed; ranges stand in pyproject.toml.",
    ]
    for name, package in packages.items():
        needs = ", ".join(f'"{need}"' for need in package["needs"])
        lines += ["", f"[{name}]", f'version = "{package["version"]}"', f'licence = "{package["licence"]}"']
        lines += [f"needs = [{needs}]"]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    (ROOT / "DEPENDENCIES.toml").write_text(written(resolved()))
