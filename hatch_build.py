"""What the wheel is built with besides its modules: a bill of materials and a list of licences.

The bill is CycloneDX 1.6 and lies where PEP 770 puts it, `*.dist-info/sboms/pourbook.cdx.json`. It names what comes
inside the wheel (files of others, each with its hash, from every VENDORED.toml) and what is installed beside it
(DEPENDENCIES.toml: the versions that the checks ran with, as a build has none of them at hand). The same sources give
the same bytes: no time, no path.
"""

import hashlib
import json
import re
import tempfile
import tomllib
import uuid
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

BILL = "pourbook.cdx.json"
LICENCES = "pourbook/_shipped/licences.txt"
VENDORED = {"src/pourbook/fonts/VENDORED.toml": "generic", "src/pourbook/station/static/vendor/VENDORED.toml": "npm"}
"""Lists of what came from others, and the kind of package URL that names it."""

Bom = dict[str, Any]


class WithBill(BuildHookInterface):
    """Puts both documents into the wheel."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002
        """Write them, and name them to the build."""
        self._folder = tempfile.TemporaryDirectory()
        bom = bill_of_materials(Path(self.root), self.metadata.version)
        bill, licences = Path(self._folder.name) / BILL, Path(self._folder.name) / "licences.txt"
        bill.write_text(json.dumps(bom, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
        licences.write_text(licence_list(bom), encoding="utf-8")
        build_data["sbom_files"].append(str(bill))
        build_data["force_include"][str(licences)] = LICENCES

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:  # noqa: ARG002
        """Their folder goes once they are inside."""
        self._folder.cleanup()


def bill_of_materials(root: Path, version: str) -> Bom:
    """The document as JSON values; its serial number is of its content."""
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    kept = tomllib.loads((root / "DEPENDENCIES.toml").read_text(encoding="utf-8"))
    ranges, groups = asked_for(project)
    beside = [_python(name, package, ranges.get(name), needing(name, groups, kept)) for name, package in kept.items()]
    inside = [_vendored(package, kind) for path, kind in VENDORED.items() for package in _packages(root / path)]
    own = {
        "type": "application",
        "bom-ref": f"pkg:pypi/pourbook@{version}",
        "name": project["name"],
        "version": version,
        "description": project["description"],
        "licenses": _licence(project["license"]),
        "purl": f"pkg:pypi/pourbook@{version}",
    }
    refs = {one["name"]: one["bom-ref"] for one in beside}
    direct = sorted(refs[name] for name in ranges if name in refs)
    graph = [{"ref": own["bom-ref"], "dependsOn": direct + [one["bom-ref"] for one in inside]}]
    graph += [{"ref": refs[name], "dependsOn": [refs[need] for need in kept[name]["needs"]]} for name in kept]
    bom = {
        "$schema": "http://cyclonedx.org/schema/bom-1.6.schema.json",
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {"lifecycles": [{"phase": "build"}], "component": own},
        "components": inside + beside,
        "dependencies": graph,
    }
    content = hashlib.sha256(json.dumps(bom, sort_keys=True).encode()).hexdigest()
    return {**bom, "serialNumber": f"urn:uuid:{uuid.uuid5(uuid.NAMESPACE_URL, content)}"}


def asked_for(project: dict[str, Any]) -> tuple[dict[str, str], dict[str, list[str]]]:
    """Ranges by name, names by the extra that asks for them ("" for all installations); what tests need is left out."""
    ranges: dict[str, str] = {}
    groups: dict[str, list[str]] = {}
    extras = {"": project["dependencies"], **project["optional-dependencies"]}
    for extra, requirements in extras.items():
        for requirement in requirements if extra != "test" else ():
            name = re.split(r"[\[<>=;!~ ]", requirement)[0].lower()
            ranges[name] = requirement
            groups.setdefault(extra, []).append(name)
    return ranges, groups


def needing(name: str, groups: dict[str, list[str]], kept: dict[str, Any]) -> list[str]:
    """The extras that bring a package, directly or through others; [""] where every installation has it."""

    def reached(names: list[str]) -> set[str]:
        found: set[str] = set()
        waiting = [one for one in names if one in kept]
        while waiting:
            one = waiting.pop()
            if one not in found:
                found.add(one)
                waiting += kept[one]["needs"]
        return found

    extras = [extra for extra, names in groups.items() if name in reached(names)]
    return [""] if "" in extras else extras


def _packages(path: Path) -> list[dict[str, Any]]:
    return tomllib.loads(path.read_text(encoding="utf-8"))["package"]


def _licence(expression: str) -> list[dict[str, Any]]:
    return [{"expression": expression}]


def _properties(**values: str | None) -> list[dict[str, str]]:
    return [{"name": f"pourbook:{name}", "value": value} for name, value in values.items() if value]


def _python(name: str, package: dict[str, Any], asked: str | None, extras: list[str]) -> dict[str, Any]:
    """A package installed beside; its version is the one that the checks ran with, the range is what is asked for."""
    purl = f"pkg:pypi/{name}@{package['version']}"
    return {
        "type": "library",
        "bom-ref": purl,
        "name": name,
        "version": package["version"],
        "scope": "required" if "" in extras else "optional",
        "licenses": _licence(package["licence"]),
        "purl": purl,
        "properties": _properties(included="no", requirement=asked, extras=", ".join(filter(None, extras))),
    }


def _vendored(package: dict[str, Any], kind: str) -> dict[str, Any]:
    """What comes inside the wheel, file by file."""
    name, version = package["name"], package["version"]
    purl = f"pkg:{kind}/{name.replace(' ', '-').lower()}@{version}"
    files = [
        {"type": "file", "bom-ref": f"{purl}#{file}", "name": file, "hashes": [{"alg": "SHA-256", "content": content}]}
        for file, content in package["files"].items()
    ]
    return {
        "type": "library",
        "bom-ref": purl,
        "name": name,
        "version": version,
        "description": package["what"],
        "scope": "required",
        "licenses": _licence(package["licence"]),
        "purl": purl,
        "properties": _properties(included="yes"),
        "components": files,
    }


def licence_list(bom: Bom) -> str:
    """The same in lines that a person reads: name, version, licence; what comes inside first."""
    own = bom["metadata"]["component"]
    lines = [f"{own['name']} {own['version']}: {own['licenses'][0]['expression']}"]
    headings = {"yes": "Inside this package", "no": "Installed beside it, in the versions that were tested"}
    for included, heading in headings.items():
        lines += ["", heading]
        for one in bom["components"]:
            properties = {each["name"]: each["value"] for each in one["properties"]}
            if properties["pourbook:included"] == included:
                extras = properties.get("pourbook:extras")
                only = f" (only with: {extras})" if extras else ""
                lines.append(f"  {one['name']} {one['version']}: {one['licenses'][0]['expression']}{only}")
    return "\n".join(lines) + "\n"
