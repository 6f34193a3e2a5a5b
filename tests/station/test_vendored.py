"""Scripts of others that a station serves: each as it was published, and none that is not listed."""

import hashlib
import tomllib
from pathlib import Path

import pytest

VENDOR = Path(__file__).parents[2] / "src/pourbook/station/static/vendor"
LIST = VENDOR / "VENDORED.toml"
PACKAGES = tomllib.loads(LIST.read_text())["package"]


@pytest.mark.parametrize("package", PACKAGES, ids=lambda package: package["name"])
def test_each_file_is_the_one_that_was_published(package):
    """Hashes were taken of the packages of the npm registry; a file that was edited here is told."""
    found = {name: hashlib.sha256((VENDOR / name).read_bytes()).hexdigest() for name in package["files"]}
    assert found == package["files"]
    assert package["version"]
    assert package["licence"]
    assert any(Path(name).name == "LICENSE" for name in package["files"]), "each comes with its licence"


def test_no_file_is_unlisted():
    there = {path.relative_to(VENDOR).as_posix() for path in VENDOR.rglob("*") if path.is_file() and path != LIST}
    assert there == {name for package in PACKAGES for name in package["files"]}


def test_the_decoder_is_the_one_that_its_ponyfill_expects():
    """The ponyfill holds version and SHA-256 of the module it was built with; another may have another interface."""
    ponyfill = (VENDOR / "barcode-detector/zxing-exported.js").read_text()
    (decoder,) = (package for package in PACKAGES if package["name"] == "zxing-wasm")
    assert decoder["files"]["zxing-wasm/zxing_reader.wasm"] in ponyfill
    assert f"zxing-wasm@{decoder['version']}" in ponyfill
