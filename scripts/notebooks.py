"""Run the notebooks of docs and keep what comes; ``--check`` runs them and keeps nothing.

A cell that fails ends the script with 1. Needs the extra ``docs``.
"""

from __future__ import annotations

import sys
from pathlib import Path

from environment import ROOT

DOCS = ROOT / "docs"
SECONDS = 300  # for one cell


def run(path: Path, *, keep: bool) -> None:
    """Run one notebook in the folder where it stands, in a kernel of its own."""
    import nbformat
    from nbclient import NotebookClient

    book = nbformat.read(path, as_version=4)
    NotebookClient(
        book, timeout=SECONDS, kernel_name="python3", resources={"metadata": {"path": str(path.parent)}}
    ).execute()
    silent = [cell.source for cell in book.cells if cell.cell_type == "code" and not cell.outputs]
    if [source for source in silent if not source.lstrip().startswith(("import ", "from "))]:
        print(f"{path.name}: cells that show nothing:\n" + "\n---\n".join(silent))
    for cell in book.cells:
        cell.metadata.pop("execution", None)  # when it ran is nobody's business
    if keep:
        nbformat.write(book, path)
    print(f"{path.name}: {len(book.cells)} cells ran")


def main() -> int:
    """Every notebook, or those that are named."""
    names = [word for word in sys.argv[1:] if not word.startswith("--")]
    for path in [Path(name).resolve() for name in names] or sorted(DOCS.glob("*.ipynb")):
        run(path, keep="--check" not in sys.argv)
    return 0


if __name__ == "__main__":
    from environment import prepare, python

    if Path(sys.prefix) != python().parent.parent:
        import subprocess

        sys.exit(subprocess.run([str(prepare("test")), __file__, *sys.argv[1:]], check=False).returncode)
    sys.exit(main())
