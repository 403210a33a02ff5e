"""The notebooks, run from the first cell to the last.

`python tests/notebooks/notebook.py` runs them all and writes their outputs anew, after a change of the data, the
words or a notebook; read the difference before you keep it.
"""

from __future__ import annotations

import base64
import io
import re
import sys
from pathlib import Path
from typing import Any

import nbformat

FOLDER = Path(__file__).parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
_METADATA = {
    "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
    "language_info": {"name": "python"},
}
_ALONE = """
import sys

def _alone(event, arguments):
    if event in ("socket.getaddrinfo", "socket.gethostbyname") or (
        event == "socket.connect" and isinstance(arguments[1], tuple) and not str(arguments[1][0]).startswith("127.")
    ):
        raise PermissionError(f"a notebook needs no network, but asks for {event} {arguments[-1]}")

sys.addaudithook(_alone)
"""


def read(path: Path) -> Any:
    """The notebook as it is kept."""
    return nbformat.read(path, as_version=4)


def run(path: Path) -> Any:
    """The notebook as it comes out now, in a fresh kernel that has no network and warns of nothing."""
    from nbclient import NotebookClient

    notebook = read(path)
    first = nbformat.v4.new_code_cell(_ALONE)
    notebook.cells.insert(0, first)
    client = NotebookClient(
        notebook, timeout=300, kernel_name="python3", record_timing=False, resources={"metadata": {"path": path.parent}}
    )
    client.execute()
    notebook.cells.remove(first)
    return tidy(notebook)


def tidy(notebook: Any) -> Any:
    """Take out whatever tells when and where it ran; count the cells from one; make pictures small."""
    notebook.metadata = nbformat.from_dict(_METADATA)
    count = 0
    for number, cell in enumerate(notebook.cells, start=1):
        cell.id = f"cell-{number:02}"
        cell.metadata = nbformat.from_dict({})
        if cell.cell_type == "code":
            count += 1
            cell.execution_count = count
            for output in cell.outputs:
                if "metadata" in output:
                    output.metadata = nbformat.from_dict({})
                if "execution_count" in output:
                    output.execution_count = count
                if "image/png" in output.get("data", {}):
                    output.data["image/png"] = in_greys(output.data["image/png"])
    return notebook


def in_greys(png: str) -> str:
    """A PNG (base64) in sixteen greys: a third of the size, and whatever needs colour to be read shows at once."""
    from PIL import Image

    small = io.BytesIO()
    with Image.open(io.BytesIO(base64.b64decode(png))) as picture:
        flat = Image.new("RGB", picture.size, "white")
        flat.paste(picture, mask=picture.getchannel("A") if picture.mode == "RGBA" else None)
        flat.convert("L").quantize(16).save(small, "PNG", optimize=True)
    return base64.b64encode(small.getvalue()).decode("ascii")


def said(notebook: Any) -> list[str]:
    """What each code cell put out, in words: text as it is, a picture by its kind alone."""
    return [
        "\n".join(_words(output) for output in _joined(cell)) for cell in notebook.cells if cell.cell_type == "code"
    ]


def _joined(cell: Any) -> list[Any]:
    """Return a cell's outputs with neighbouring pieces of one stream as one: where it breaks is a matter of timing."""
    found: list[Any] = []
    for output in cell.outputs:
        if found and output.output_type == "stream" and found[-1].get("name") == output.name:
            found[-1] = nbformat.v4.new_output("stream", name=output.name, text=found[-1].text + output.text)
        else:
            found.append(output)
    return found


def _words(output: Any) -> str:
    if output.output_type == "stream":
        return f"{output.name}: {output.text}"
    if output.output_type == "error":
        return f"{output.ename}: {output.evalue}"
    kinds = sorted(kind for kind in output.data if kind.startswith("image/"))
    text = re.sub(r"<Figure size \S+ with", "<Figure with", output.data.get("text/plain", ""))
    return f"{' '.join(kinds)} {text}"


def rewrite(paths: list[Path]) -> None:
    """Run and keep."""
    for path in paths:
        notebook = run(path)
        nbformat.write(notebook, path)
        print(f"{path.name}: {path.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    rewrite([Path(name) for name in sys.argv[1:]] or NOTEBOOKS)
