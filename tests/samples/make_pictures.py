"""Make the README's pictures: pages of the redline of a faulty sample, by LibreOffice and pdftoppm; its plots.

Usage: python tests/samples/make_pictures.py
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

TOP = Path(__file__).parents[2]
LIST = TOP / "sample_wirelists" / "faulty" / "hill_climb_single_seater.xlsx"
PAGES = {"redline-list": "W101", "redline-findings": "Redline of", "redline-offsets": "How far each ground stands off"}


def main() -> None:
    """Write ``.readme/*.png``, ``.readme/margin.svg`` and ``.readme/sizes.svg``."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        subprocess.run(
            [sys.executable, "-m", "harnessdrc", "check", str(LIST), "--out", folder, "--plots"],
            stdout=subprocess.DEVNULL,
            check=False,
        )
        subprocess.run(
            ["soffice", f"-env:UserInstallation=file://{folder}/profile", "--headless", "--convert-to", "pdf",
             "--outdir", folder, str(out / "hill_climb_single_seater.redline.xlsx")],
            stdout=subprocess.DEVNULL, check=True,
        )  # fmt: skip
        (TOP / ".readme").mkdir(exist_ok=True)
        for plot in ("margin.svg", "sizes.svg"):
            shutil.copyfile(out / f"hill_climb_single_seater.{plot}", TOP / ".readme" / plot)
        pdf = out / "hill_climb_single_seater.redline.pdf"
        text = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], capture_output=True, text=True, check=True)
        pages = text.stdout.split("\f")
        for name, words in PAGES.items():
            page = next(number for number, content in enumerate(pages, 1) if words in content)
            subprocess.run(
                ["pdftoppm", "-r", "80", "-png", "-singlefile", "-f", str(page), "-l", str(page), str(pdf),
                 str(TOP / ".readme" / name)],
                check=True,
            )  # fmt: skip


if __name__ == "__main__":
    main()
