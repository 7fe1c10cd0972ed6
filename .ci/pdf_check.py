"""Check every PDF of a press with programs that are not ours.

Usage: pdf_check.py FOLDER [--paper a4|letter]. Exit status 1 if any file fails or there is none.

Of each file: the rules of PDF/UA-1 that a program can check (page-validation), its structure (qpdf),
title, language, tags, page size and number of pages (pdfinfo, qpdf), fonts embedded as subsets with a
way back to text (pdffonts), no link to a file or a path of this machine, and the cautions in its text.
"""

import re
import subprocess
import sys
from pathlib import Path

import page

# Points: ISO 216 A4 and ANSI/ASME Y14.1 size A, upright; a wide table lies on its side.
PAPERS = {"a4": (595.276, 841.89), "letter": (612.0, 792.0)}
# Prints of one page, by the end of their name.
ONE_PAGE = ("-sheet.pdf", "-marking.pdf")
# The words that begin every caution line, in the languages of the interface.
CAUTIONS = ("teaching aid", "stop at once", "lehrmittel", "sofort abbrechen")


def run(*command):
    done = subprocess.run(command, capture_output=True, check=False)
    return done.returncode, done.stdout.decode("utf-8", "replace"), done.stderr.decode("utf-8", "replace")


def faults(file, paper):
    """What is wrong with one file, a line each; and how many rules it was held to."""
    wrong = []
    report = page.validate_pdf(file, profile="ua1")
    wrong += [f"{failure.rule_id}: {failure.message}" for failure in report.failures]
    if not report.is_compliant and not report.failures:
        wrong.append("PDF/UA-1: not compliant")
    status, out, err = run("qpdf", "--check", file)
    if status != 0:
        wrong.append(f"qpdf --check: {out} {err}")
    _, info, _ = run("pdfinfo", file)
    fields = dict(line.split(":", 1) for line in info.splitlines() if ":" in line)
    fields = {name: text.strip() for name, text in fields.items()}
    if fields.get("Tagged") != "yes":
        wrong.append("not tagged")
    if not fields.get("Title"):
        wrong.append("no title")
    if "CreationDate" in fields or "ModDate" in fields:
        wrong.append("holds a date")
    size = [float(n) for n in re.findall(r"[\d.]+", fields.get("Page size", ""))[:2]]
    if not any(all(abs(a - b) < 0.01 for a, b in zip(size, want)) for want in (PAPERS[paper], PAPERS[paper][::-1])):
        wrong.append(f"page size {fields.get('Page size')}, not {paper}")
    if file.name.endswith(ONE_PAGE) and fields.get("Pages") != "1":
        wrong.append(f"{fields.get('Pages')} pages, not one")
    _, plain, _ = run("qpdf", "--qdf", "--object-streams=disable", "--stream-data=uncompress", file, "-")
    if not re.search(r"/Lang \(\w\w", plain):
        wrong.append("no language")
    if "/Outlines" not in plain:
        wrong.append("no bookmarks")
    for target in re.findall(r"/URI \((.*?)\)", plain):
        if not re.match(r"(https?://|mailto:)", target):
            wrong.append(f"link to {target}")
    if re.search(r"/(GoToR|Launch)\b", plain) or "file:" in plain:
        wrong.append("link to a file")
    _, fonts, _ = run("pdffonts", file)
    rows = fonts.splitlines()[2:]
    if not rows:
        wrong.append("no fonts")
    for row in rows:
        if row.split()[-5:-2] != ["yes", "yes", "yes"]:
            wrong.append(f"font not embedded as a subset with its text: {row}")
    _, text, _ = run("pdftotext", file, "-")
    if not any(words in text.lower() for words in CAUTIONS):
        wrong.append("no caution in its text")
    return wrong, report.rules


def main():
    paper = sys.argv[sys.argv.index("--paper") + 1] if "--paper" in sys.argv else "a4"
    files = sorted(Path(sys.argv[1]).rglob("*.pdf"))
    failed = 0
    for file in files:
        wrong, rules = faults(file, paper)
        failed += bool(wrong)
        print(f"{'FAILED' if wrong else 'ok'}  {file.name}  PDF/UA-1 rules {rules.passed} of {rules.total}")
        for line in wrong:
            print(f"    {line}")
    print(f"{len(files) - failed} of {len(files)} PDFs pass")
    return 1 if failed or not files else 0


if __name__ == "__main__":
    sys.exit(main())
