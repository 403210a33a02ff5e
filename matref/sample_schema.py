"""The personal tables: samples, piles on the shelf, finished books. Migrations only ever add to them."""

from matref.estimator.personal import SCHEMA as PILE_LINES

SAMPLES = (
    """
CREATE TABLE sample (
    id TEXT PRIMARY KEY CHECK (length(id) BETWEEN 4 AND 40),
    label TEXT NOT NULL DEFAULT '',
    class_id TEXT,
    pile_id TEXT NOT NULL,
    note TEXT NOT NULL DEFAULT '',
    measured_on TEXT NOT NULL,
    added_at TEXT NOT NULL,
    changed_at TEXT NOT NULL,
    withdrawn_at TEXT,
    as_typed TEXT NOT NULL CHECK (json_valid(as_typed)),
    label_gsm REAL CHECK (label_gsm > 0),
    width_mm REAL CHECK (width_mm > 0),
    height_mm REAL CHECK (height_mm > 0),
    sheets INTEGER CHECK (sheets > 0),
    mass_g REAL CHECK (mass_g > 0),
    scale_resolution_g REAL CHECK (scale_resolution_g > 0),
    stack_sheets INTEGER CHECK (stack_sheets > 0),
    stack_mm REAL CHECK (stack_mm > 0),
    stack_resolution_mm REAL CHECK (stack_resolution_mm > 0),
    measured_with TEXT,
    held TEXT,
    book_pages INTEGER CHECK (book_pages > 0),
    book_thickness_mm REAL CHECK (book_thickness_mm > 0),
    book_mass_g REAL CHECK (book_mass_g > 0),
    grammage_gsm REAL CHECK (grammage_gsm > 0),
    grammage_u_gsm REAL CHECK (grammage_u_gsm > 0),
    caliper_um REAL CHECK (caliper_um > 0),
    caliper_u_um REAL CHECK (caliper_u_um > 0)
) STRICT;
CREATE INDEX sample_by_pile ON sample (pile_id);
CREATE INDEX sample_by_class ON sample (class_id);
CREATE INDEX sample_by_added ON sample (added_at);
"""
    + PILE_LINES
)
