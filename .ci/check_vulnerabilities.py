"""Asks advisory services whether a package of .ci/constraints.txt has a known vulnerability.

Exit code 1: one has. 2: the check could not be made, because no service answers for every package, or because none names
the vulnerability of an old package that is known to have one. Only 0 means that every package was checked. Needs the network
and `pip install farrowtide[wheel]`; by hand, since whether it passes depends on the day. With --self-test, offline: against a
service on this machine that knows, does not know or does not answer.
"""

import json
import re
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

CONSTRAINTS = Path(__file__).resolve().parent / "constraints.txt"
KNOWN = "jinja2==2.4.1"  # CVE-2016-10745 and later ones: templates get out of its sandbox
SERVICES = (["--vulnerability-service", "pypi"], ["--vulnerability-service", "osv"])
CLEAN, VULNERABLE, NOT_CHECKED = 0, 1, 2


def pinned() -> list[str]:
    return re.findall(r"(?m)^[\w.-]+==[^\s;\\]+", CONSTRAINTS.read_text(encoding="utf-8"))


def ask(service: list[str], packages: list[str]) -> tuple[int, list[str]]:
    """A verdict and what was found, or what went wrong."""
    if not packages:
        return NOT_CHECKED, ["no package to ask about"]
    with tempfile.TemporaryDirectory() as folder:
        asked, answer = Path(folder, "asked.txt"), Path(folder, "answer.json")
        asked.write_text("\n".join(packages))
        options = ["--no-deps", "--disable-pip", "--progress-spinner", "off", "--timeout", "30", "--format", "json"]
        command = [sys.executable, "-m", "pip_audit", *service, *options, "--requirement", asked, "--output", answer]
        done = subprocess.run(command, capture_output=True, text=True)
        try:
            found = json.loads(answer.read_text())["dependencies"]
        except (OSError, ValueError, KeyError):
            return NOT_CHECKED, done.stderr.strip().splitlines()[-1:]
    vulnerable = [
        f"{package['name']} {package['version']}: {advisory['id']}, fixed in {', '.join(advisory['fix_versions'])}"
        for package in found
        for advisory in package.get("vulns", [])
    ]
    if vulnerable:
        return VULNERABLE, vulnerable
    skipped = [package["skip_reason"] for package in found if "vulns" not in package]
    whole = not skipped and len(found) == len(packages)
    return (CLEAN, []) if whole else (NOT_CHECKED, skipped[:1])


def judge(services: tuple[list[str], ...], packages: list[str]) -> int:
    """The verdict of the first service that knows what is known and answers for every package."""
    for service in services:
        verdict, said = ask(service, [KNOWN])
        if verdict != VULNERABLE:
            print(service[-1], f"does not name the vulnerability of {KNOWN}:", *said)
            continue
        verdict, said = ask(service, packages)
        print(
            service[-1],
            f"was asked about {len(packages)} packages:",
            *(said or ["none has a known vulnerability"]),
            sep="\n",
        )
        if verdict != NOT_CHECKED:
            return verdict
    print("The check could not be made.", file=sys.stderr)
    return NOT_CHECKED


@contextmanager
def service_that_knows(vulnerable: set[str]) -> Iterator[list[str]]:
    """An advisory service on this machine, in the format of OSV."""

    class Answer(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            name = json.loads(self.rfile.read(int(self.headers["Content-Length"])))["package"]["name"]
            affected = {"package": {"name": name, "ecosystem": "PyPI"}, "ranges": [], "versions": []}
            advisory = {"id": f"TEST-{name}", "summary": "invented", "affected": [affected]}
            body = json.dumps({"vulns": [advisory]} if name in vulnerable else {}).encode()
            self.send_response(200)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            pass

    with ThreadingHTTPServer(("127.0.0.1", 0), Answer) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        url = f"http://127.0.0.1:{server.server_port}/v1/query"
        yield ["--vulnerability-service", "osv", "--osv-url", url]
        server.shutdown()


def self_test() -> int:
    packages, failed = ["click==8.5.1", "numpy==2.4.6"], 0
    for vulnerable, asked, expected in (
        ({"jinja2"}, packages, CLEAN),
        ({"jinja2", "numpy"}, packages, VULNERABLE),
        (set(), packages, NOT_CHECKED),
        ({"jinja2"}, [], NOT_CHECKED),
    ):
        with service_that_knows(vulnerable) as service:
            found = judge((service,), asked)
        failed += found != expected
        print(f"self-test, vulnerable: {sorted(vulnerable)}, asked: {asked}: exit code {found}, {expected} expected")
    found = judge((service,), packages)  # it is gone
    print(f"self-test, no service: exit code {found}, {NOT_CHECKED} expected")
    return failed + (found != NOT_CHECKED)


if __name__ == "__main__":
    sys.exit(self_test() if "--self-test" in sys.argv else judge(SERVICES, pinned()))
