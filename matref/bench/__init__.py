"""The sheet of work for the bench: drawings, text, marks at true size; as PDF, HTML and SVG."""

from matref.bench.layout_sheet import layouts_pdf, layouts_svg
from matref.bench.sheet import drawings, plan_svg, sheet_of_work_html, sheet_of_work_pdf
from matref.bench.write import write_whole

__all__ = [
    "drawings",
    "layouts_pdf",
    "layouts_svg",
    "plan_svg",
    "sheet_of_work_html",
    "sheet_of_work_pdf",
    "write_whole",
]
