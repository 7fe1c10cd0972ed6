"""Check PDFs against the rules of PDF/UA-1 that a program can check, and their structure with qpdf.

Usage: pdf_check.py FOLDER. Exit status 1 if any file fails or there is none.
"""

import subprocess
import sys
from pathlib import Path

import page

failed = 0
files = sorted(Path(sys.argv[1]).rglob("*.pdf"))
for file in files:
    report = page.validate_pdf(file, profile="ua1")
    structure = subprocess.run(
        ["qpdf", "--check", file], capture_output=True, text=True, check=False
    )
    good = report.is_compliant and structure.returncode == 0
    failed += not good
    print(f"{'ok' if good else 'FAILED'}  {file.name}  PDF/UA-1 rules {report.rules.passed} of {report.rules.total}")
    for failure in report.failures:
        print(f"    {failure.rule_id}: {failure.message}")
    if structure.returncode != 0:
        print(structure.stdout + structure.stderr)
print(f"{len(files) - failed} of {len(files)} PDFs pass")
sys.exit(1 if failed or not files else 0)
