"""What the wheel is made of is told with it, can be relied on in its ranges, and may be used by a distillery.

The bill of materials is held against the official schema of CycloneDX (as cyclonedx-python-lib ships it).
"""

import hashlib
import importlib.util
import json
import tomllib
import zipfile
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import pytest
import write_dependencies as writer
from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
KEPT = tomllib.loads((ROOT / "DEPENDENCIES.toml").read_text())
DECLARED = [(canonicalize_name(one.name), one, extra) for one, extra in writer.declared()]
ROLLING = {"argon2-cffi", "cryptography", "tzdata"}
"""Packages whose first number is a year, or rises every few weeks with a year's notice of what goes."""
PERMISSIVE = {
    "0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "Bitstream-Vera", "CC0-1.0", "LicenseRef-matplotlib", "MIT",
    "MIT-0", "MIT-CMU", "OFL-1.1", "PSF-2.0", "Zlib",
}  # fmt: skip


@pytest.fixture(scope="module")
def hook():
    """The module of the build, as hatchling loads it."""
    spec = importlib.util.spec_from_file_location("hatch_build", ROOT / "hatch_build.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """The wheel, built as it is released."""
    return build(tmp_path_factory.mktemp("wheel"))


def build(folder):
    from hatchling.builders.wheel import WheelBuilder

    return Path(*WheelBuilder(str(ROOT)).build(directory=str(folder), versions=["standard"]))


@pytest.fixture(scope="module")
def bom(wheel):
    with zipfile.ZipFile(wheel) as archive:
        (name,) = (name for name in archive.namelist() if ".dist-info/sboms/" in name)  # PEP 770
        assert name.endswith("/pourbook.cdx.json")
        return json.loads(archive.read(name))


def named(bom):
    return {one["name"]: one for one in bom["components"]}


@pytest.mark.parametrize(("name", "requirement", "extra"), DECLARED, ids=[name for name, _, _ in DECLARED])
def test_ranges_end_before_what_breaks(name, requirement, extra):
    ends = any(one.operator in {"<", "<=", "=="} for one in requirement.specifier)
    assert ends != (name in ROLLING), f"{requirement} of {extra}"


@pytest.mark.parametrize(("name", "requirement", "extra"), DECLARED, ids=[name for name, _, _ in DECLARED])
def test_what_runs_here_lies_in_the_ranges(name, requirement, extra):
    versions = [KEPT[name]["version"]] if name in KEPT else []
    try:
        versions.append(version(name))
    except PackageNotFoundError:
        assert requirement.marker or extra, f"{name} is not installed"
    assert all(requirement.specifier.contains(one) for one in versions)


def test_the_list_holds_all_that_is_needed():
    """Whatever pyproject asks for, and whatever those need in turn."""
    assert {name for name, requirement, _ in DECLARED if not requirement.marker} <= KEPT.keys()
    reached = {need for package in KEPT.values() for need in package["needs"]} | {name for name, _, _ in DECLARED}
    assert reached >= KEPT.keys(), "nothing stands there that nobody needs"
    assert {need for package in KEPT.values() for need in package["needs"]} <= KEPT.keys()


@pytest.mark.parametrize("name", KEPT)
def test_the_list_says_what_the_metadata_say(name):
    """Where the very version is installed: its licence and needs; `tests/write_dependencies.py` writes the list."""
    try:
        if version(name) != KEPT[name]["version"]:
            pytest.skip(f"another version of {name} is installed")
    except PackageNotFoundError:
        pytest.skip(f"{name} is not installed")
    assert KEPT[name]["licence"] == writer.licence_of(name)
    assert {canonicalize_name(one.name) for one in writer.needed_by(name)} <= set(KEPT[name]["needs"])


def test_the_bill_is_valid(bom):
    """The strict schema of CycloneDX 1.6."""
    validator = JsonStrictValidator(SchemaVersion.V1_6)
    assert validator.validate_str(json.dumps(bom)) is None
    bom_with_a_slip = {**bom, "components": [{**bom["components"][0], "type": "typeface"}]}
    assert validator.validate_str(json.dumps(bom_with_a_slip)) is not None


def test_the_bill_names_all_that_is_inside_and_beside(bom):
    inside = {
        one for one, each in named(bom).items() if {"name": "pourbook:included", "value": "yes"} in each["properties"]
    }
    assert inside == {
        "DejaVu Fonts", "Source Sans 3", "barcode-detector", "htmx-ext-sse", "htmx.org", "zxing-wasm",
    }  # fmt: skip
    assert named(bom).keys() - inside == KEPT.keys()
    properties = {each["name"]: each["value"] for each in named(bom)["psycopg"]["properties"]}
    assert properties["pourbook:extras"] == "postgres"
    assert named(bom)["psycopg"]["scope"] == "optional"
    assert named(bom)["click"]["scope"] == "required"
    assert {"name": "pourbook:requirement", "value": "click>=8.2,<9"} in named(bom)["click"]["properties"]


def test_every_file_of_others_is_in_the_bill_with_its_hash(bom, wheel):
    files = [one for package in bom["components"] for one in package.get("components", ())]
    told = {(one["name"], one["hashes"][0]["content"]) for one in files}
    with zipfile.ZipFile(wheel) as archive:
        others = [
            name for name in archive.namelist()
            if ("/fonts/" in name or "/static/vendor/" in name) and not name.endswith("VENDORED.toml")
        ]  # fmt: skip
        found = {(name, hashlib.sha256(archive.read(name)).hexdigest()) for name in others}
    assert len(others) > 15
    assert {(name.split("/fonts/")[-1].split("/vendor/")[-1], content) for name, content in found} == told


def test_who_needs_whom_is_in_the_bill(bom):
    """Every reference of the graph is a component, and all are reached from the package itself."""
    graph = {one["ref"]: one["dependsOn"] for one in bom["dependencies"]}
    refs = {one["bom-ref"] for one in bom["components"]}
    waiting, reached = [bom["metadata"]["component"]["bom-ref"]], set()
    while waiting:
        one = waiting.pop()
        reached.add(one)
        waiting += [each for each in graph.get(one, ()) if each not in reached]
    assert reached - {bom["metadata"]["component"]["bom-ref"]} == refs


def test_licences_let_a_distillery_use_it(bom):
    """Permissive, all of them, but for the client of PostgreSQL, an extra under the LGPL that nothing else needs."""
    for one in bom["components"]:
        names = set(one["licenses"][0]["expression"].replace("(", " ").replace(")", " ").split()) - {"AND", "OR"}
        assert names <= PERMISSIVE or (one["name"].startswith("psycopg") and names == {"LGPL-3.0-only"}), one["name"]


def test_the_list_of_licences_names_every_part(bom, wheel, hook):
    with zipfile.ZipFile(wheel) as archive:
        text = archive.read(hook.LICENCES).decode()
    for one in bom["components"]:
        assert f"  {one['name']} {one['version']}: {one['licenses'][0]['expression']}" in text
    assert text.startswith("pourbook ")


def test_the_same_sources_build_the_same_wheel(wheel, tmp_path):
    """No time and no path gets in, the bill included."""
    assert build(tmp_path).read_bytes() == wheel.read_bytes()


def test_the_sources_hold_what_a_wheel_is_built_from(tmp_path):
    """An sdist can build the wheel again, bill and all."""
    import tarfile

    from hatchling.builders.sdist import SdistBuilder

    (made,) = SdistBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["standard"])
    with tarfile.open(made) as archive:
        names = {name.split("/", 1)[1] for name in archive.getnames()}
    assert {"hatch_build.py", "DEPENDENCIES.toml", "pyproject.toml"} <= names


def test_a_requirement_is_read_by_its_name(hook):
    """Extras, ranges and markers are no part of a name."""
    asked = {
        "dependencies": ["a-b[x]>=1,<2", "tzdata; sys_platform == 'win32'"],
        "optional-dependencies": {"test": ["c"]},
    }
    ranges, groups = hook.asked_for(asked)
    assert ranges.keys() == {"a-b", "tzdata"}
    assert groups == {"": ["a-b", "tzdata"]}
    assert Requirement(ranges["a-b"]).name == "a-b"
