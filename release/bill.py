#!/usr/bin/env python3
"""Writes the bill of materials of the program: every crate that is compiled into it or builds it.

In: `cargo metadata` on standard input, the lock file as argument.  Out: CycloneDX 1.5 as JSON
(https://cyclonedx.org/docs/1.5/json/), the same bytes for the same lock file.
Crates that only tests use are not in the program and not in the bill.
"""

import json
import sys
import tomllib

ROOT = "saltwright"


def purl(package):
    """A package URL (https://github.com/package-url/purl-spec)."""
    return f"pkg:cargo/{package['name']}@{package['version']}"


def component(package, checksums):
    """One entry: name, version, licence as the crate states it, checksum of what was downloaded."""
    entry = {
        "type": "library",
        "bom-ref": purl(package),
        "name": package["name"],
        "version": package["version"],
        "purl": purl(package),
    }
    if package.get("license"):
        # Some crates still write "/" where SPDX says "OR".
        entry["licenses"] = [{"expression": package["license"].replace("/", " OR ")}]
    checksum = checksums.get((package["name"], package["version"]))
    if checksum:
        entry["hashes"] = [{"alg": "SHA-256", "content": checksum}]
    return entry


def needed(node):
    """Ids that a crate needs to be built, not those that only its tests need."""
    kinds = ((dep["pkg"], kind["kind"]) for dep in node["deps"] for kind in dep["dep_kinds"])
    return sorted({package for package, kind in kinds if kind != "dev"})


def main():
    metadata = json.load(sys.stdin)
    with open(sys.argv[1], "rb") as lock:
        locked = tomllib.load(lock)["package"]
    checksums = {(p["name"], p["version"]): p.get("checksum") for p in locked}
    packages = {p["id"]: p for p in metadata["packages"]}
    nodes = {node["id"]: node for node in metadata["resolve"]["nodes"]}
    root = next(
        key for key, p in packages.items() if p["name"] == ROOT and key in metadata["workspace_members"]
    )
    reached, waiting = set(), [root]
    while waiting:
        at = waiting.pop()
        if at not in reached:
            reached.add(at)
            waiting.extend(needed(nodes[at]))
    crates = sorted(reached, key=lambda key: purl(packages[key]))
    without = [purl(packages[key]) for key in crates if not packages[key].get("license")]
    if without:
        sys.exit(f"these state no licence: {', '.join(without)}")
    unlocked = [
        purl(packages[key])
        for key in crates
        if packages[key]["source"] and not checksums.get((packages[key]["name"], packages[key]["version"]))
    ]
    if unlocked:
        sys.exit(f"these have no checksum in {sys.argv[1]}: {', '.join(unlocked)}")
    bill = {
        "bomFormat": "CycloneDX",
        "specVersion": "1.5",
        "version": 1,
        "metadata": {"component": component(packages[root], checksums) | {"type": "application"}},
        "components": [component(packages[key], checksums) for key in crates if key != root],
        "dependencies": [
            {
                "ref": purl(packages[key]),
                "dependsOn": [purl(packages[other]) for other in needed(nodes[key])],
            }
            for key in crates
        ],
    }
    json.dump(bill, sys.stdout, indent=1)
    print()


main()
