"""Known vulnerabilities of the versions in constraints.txt, asked of pip-audit where its data can be had.

Run with the interpreter of the test environment.  Without a network, or with an
index that keeps no advisories, it says so loudly and passes; a known
vulnerability fails.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
LONGEST = 300  # s


def skipped(why: str) -> int:
    print(f"AUDIT SKIPPED: {why}; nothing is known of vulnerabilities in the versions used.", file=sys.stderr)
    return 0


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        python = Path(folder, "Scripts" if os.name == "nt" else "bin", "python")
        # An environment of its own: pip-audit is not bound by the versions that it looks up.
        own = {k: v for k, v in os.environ.items() if k != "PIP_CONSTRAINT"}
        try:
            subprocess.run([sys.executable, "-m", "venv", folder], check=True, timeout=LONGEST)
            get = [python, "-m", "pip", "install", "-q", "pip-audit"]
            subprocess.run(get, check=True, timeout=LONGEST, env=own, capture_output=True)
            ask = [
                python,
                "-m",
                "pip_audit",
                "-r",
                HERE / "constraints.txt",
                "--no-deps",
                "--disable-pip",
                "-f",
                "json",
            ]
            asked = subprocess.run(ask, timeout=LONGEST, env=own, capture_output=True, text=True, check=False)
        except (subprocess.SubprocessError, OSError) as e:
            return skipped(f"pip-audit cannot be had or does not answer ({type(e).__name__})")
    try:
        found = json.loads(asked.stdout)["dependencies"]
    except (ValueError, KeyError, TypeError):
        return skipped("pip-audit found no data")
    known = [d for d in found if "vulns" in d]
    bad = [(d, v) for d in known for v in d["vulns"]]
    for d, v in bad:
        print(f"{d['name']} {d['version']}: {v['id']}, mended in {', '.join(v['fix_versions']) or 'no version yet'}")
    if not known:
        return skipped("the index keeps no advisories")
    print(f"audit: {len(known)} of {len(found)} versions looked up, {len(bad)} known vulnerabilities")
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
