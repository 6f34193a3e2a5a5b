"""What of others comes along: each file as it was published, and none that is not listed."""

import hashlib
import tomllib
from pathlib import Path

import pytest

OURS = Path(__file__).parents[1] / "src/pourbook"
LISTS = tuple(sorted(OURS.rglob("VENDORED.toml")))
PACKAGES = [(path.parent, package) for path in LISTS for package in tomllib.loads(path.read_text())["package"]]


@pytest.mark.parametrize(("folder", "package"), PACKAGES, ids=[package["name"] for _, package in PACKAGES])
def test_each_file_is_the_one_that_was_published(folder, package):
    """Hashes were taken of what was published (npm's packages; the typefaces as they came); an edited file is told."""
    found = {name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in package["files"]}
    assert found == package["files"]
    assert package["version"]
    assert package["licence"]
    assert any("LICENSE" in name or "OFL" in name for name in package["files"]), "each comes with its licence"


@pytest.mark.parametrize("path", LISTS, ids=lambda path: path.parent.name)
def test_no_file_is_unlisted(path):
    folder = path.parent
    there = {one.relative_to(folder).as_posix() for one in folder.rglob("*") if one.is_file() and one != path}
    assert there == {name for where, package in PACKAGES if where == folder for name in package["files"]}


def test_what_can_hold_the_work_of_others_is_listed():
    """Scripts, programs and typefaces elsewhere in the package are the house's own: those of the station, by name."""
    held = {one for one in OURS.rglob("*") if one.suffix in {".js", ".wasm", ".ttf", ".otf", ".woff", ".woff2"}}
    listed = {where / name for where, package in PACKAGES for name in package["files"]}
    assert {one.name for one in held - listed} == {"camera.js", "htmx-hooks.js", "keep.js", "scan.js", "scanner.js"}


def test_the_decoder_is_the_one_that_its_ponyfill_expects():
    """The ponyfill holds version and SHA-256 of the module it was built with; another may have another interface."""
    ((vendor, decoder),) = (each for each in PACKAGES if each[1]["name"] == "zxing-wasm")
    ponyfill = (vendor / "barcode-detector/zxing-exported.js").read_text()
    assert decoder["files"]["zxing-wasm/zxing_reader.wasm"] in ponyfill
    assert f"zxing-wasm@{decoder['version']}" in ponyfill
