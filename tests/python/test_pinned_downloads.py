"""Set-up refuses a download that is not the one whose hash .ci/constraints.txt holds: quickstart's way of calling pip."""

import hashlib
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
QUICKSTART = (ROOT / "quickstart").read_text()


@pytest.fixture
def wheel(tmp_path):
    """A package of one line, as a registry would offer it."""
    about = "tiny-1.0.dist-info"
    files = {
        "tiny.py": "answer = 1\n",
        f"{about}/METADATA": "Metadata-Version: 2.1\nName: tiny\nVersion: 1.0\n",
        f"{about}/WHEEL": "Wheel-Version: 1.0\nGenerator: test\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
    }
    files[f"{about}/RECORD"] = "".join(f"{name},,\n" for name in [*files, f"{about}/RECORD"])
    file = tmp_path / "registry" / "tiny-1.0-py3-none-any.whl"
    file.parent.mkdir()
    with zipfile.ZipFile(file, "w") as package:
        for name, text in files.items():
            package.writestr(name, text)
    return file


def installed(wheel, constraints, tmp_path):
    """What pip says when it is called as in quickstart, with these constraints."""
    file = tmp_path / "constraints.txt"
    file.write_text(constraints)
    options = re.search(r"-m pip install (--no-input --require-hashes) --constraint \.ci/constraints\.txt", QUICKSTART)
    offline = ["--no-index", "--find-links", wheel.parent, "--target", tmp_path / "target", "--isolated"]
    command = ["-m", "pip", "install", *options[1].split(), "--constraint", file, *offline, "tiny"]
    return subprocess.run([sys.executable, *command], capture_output=True, text=True)


def test_only_the_pinned_bytes_are_installed(wheel, tmp_path):
    digest = hashlib.sha256(wheel.read_bytes()).hexdigest()
    pinned = f"tiny==1.0 \\\n    --hash=sha256:{digest}\n"
    done = installed(wheel, pinned, tmp_path)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "target/tiny.py").exists()
    with zipfile.ZipFile(wheel, "a") as package:
        package.writestr("also.py", "altered = True\n")
    for constraints, said in (
        (pinned, "DO NOT MATCH THE HASHES"),
        ("tiny==1.0\n", "must have their versions pinned"),
        ("", "must have their versions pinned"),
    ):
        refused = installed(wheel, constraints, tmp_path)
        assert refused.returncode != 0
        assert said in refused.stderr
