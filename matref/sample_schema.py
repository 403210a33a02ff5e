"""The personal tables: samples with their history, and finished books. Migrations only ever add to them."""

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
    observations TEXT NOT NULL CHECK (json_valid(observations)),
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
CREATE INDEX sample_by_class ON sample (class_id, added_at);
CREATE INDEX sample_by_added ON sample (added_at);
CREATE INDEX sample_by_label ON sample (label);
CREATE INDEX sample_by_typed ON sample (as_typed);
CREATE TABLE sample_history (
    sample_id TEXT NOT NULL REFERENCES sample (id),
    version INTEGER NOT NULL CHECK (version > 0),
    label TEXT NOT NULL,
    pile_id TEXT NOT NULL,
    note TEXT NOT NULL,
    measured_on TEXT NOT NULL,
    as_typed TEXT NOT NULL CHECK (json_valid(as_typed)),
    changed_at TEXT NOT NULL,
    replaced_at TEXT NOT NULL,
    PRIMARY KEY (sample_id, version)
) STRICT, WITHOUT ROWID;
"""
    + PILE_LINES
)

FINISHED = """
CREATE TABLE finished_book (
    id TEXT PRIMARY KEY CHECK (length(id) BETWEEN 4 AND 40),
    label TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    measured_on TEXT NOT NULL,
    added_at TEXT NOT NULL,
    withdrawn_at TEXT,
    sheets_per_section INTEGER NOT NULL CHECK (sheets_per_section > 0),
    sections INTEGER NOT NULL CHECK (sections > 0),
    endpaper_leaves INTEGER NOT NULL CHECK (endpaper_leaves >= 0),
    sewing TEXT NOT NULL,
    pressing TEXT NOT NULL,
    thread TEXT NOT NULL,
    thread_name TEXT NOT NULL,
    thread_fibre TEXT NOT NULL DEFAULT '',
    thread_mm REAL NOT NULL CHECK (thread_mm > 0),
    thread_u_mm REAL NOT NULL CHECK (thread_u_mm >= 0),
    paper TEXT NOT NULL CHECK (json_valid(paper)),
    paper_key TEXT NOT NULL,
    surface TEXT NOT NULL,
    caliper_um REAL NOT NULL CHECK (caliper_um > 0),
    caliper_u_um REAL NOT NULL CHECK (caliper_u_um >= 0),
    measured_with TEXT NOT NULL,
    fore_edge_mm REAL CHECK (fore_edge_mm > 0),
    fore_edge_u_mm REAL CHECK (fore_edge_u_mm > 0),
    spine_mm REAL CHECK (spine_mm > 0),
    spine_u_mm REAL CHECK (spine_u_mm > 0),
    predicted TEXT NOT NULL CHECK (json_valid(predicted)),
    plan TEXT CHECK (plan IS NULL OR json_valid(plan)),
    CHECK (fore_edge_mm IS NOT NULL OR spine_mm IS NOT NULL)
) STRICT;
CREATE INDEX finished_book_by_added ON finished_book (added_at);
"""

HELD_BOTH_WAYS = """
CREATE VIEW stack_reading AS
    SELECT id, pile_id, stack_sheets, stack_mm, stack_resolution_mm, measured_with,
        CASE WHEN stack_sheets = 1 THEN 'single' WHEN held IS NOT NULL THEN held
             WHEN measured_with = 'micrometer' THEN 'gauge' ELSE 'hand' END AS way
    FROM sample WHERE stack_sheets IS NOT NULL AND stack_mm IS NOT NULL AND withdrawn_at IS NULL;
CREATE TABLE held_both_ways (pile_id TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;
CREATE TRIGGER sample_held_added AFTER INSERT ON sample WHEN new.stack_sheets IS NOT NULL BEGIN
    INSERT OR IGNORE INTO held_both_ways SELECT new.pile_id
        WHERE EXISTS (SELECT 1 FROM stack_reading WHERE pile_id = new.pile_id AND way = 'hand')
          AND EXISTS (SELECT 1 FROM stack_reading WHERE pile_id = new.pile_id AND way <> 'hand');
END;
CREATE TRIGGER sample_held_changed
AFTER UPDATE OF pile_id, stack_sheets, stack_mm, held, measured_with, withdrawn_at ON sample BEGIN
    DELETE FROM held_both_ways WHERE pile_id IN (old.pile_id, new.pile_id);
    INSERT OR IGNORE INTO held_both_ways SELECT value FROM json_each(json_array(old.pile_id, new.pile_id))
        WHERE EXISTS (SELECT 1 FROM stack_reading WHERE pile_id = value AND way = 'hand')
          AND EXISTS (SELECT 1 FROM stack_reading WHERE pile_id = value AND way <> 'hand');
END;
CREATE TRIGGER sample_held_removed AFTER DELETE ON sample BEGIN
    DELETE FROM held_both_ways WHERE pile_id = old.pile_id;
    INSERT OR IGNORE INTO held_both_ways SELECT old.pile_id
        WHERE EXISTS (SELECT 1 FROM stack_reading WHERE pile_id = old.pile_id AND way = 'hand')
          AND EXISTS (SELECT 1 FROM stack_reading WHERE pile_id = old.pile_id AND way <> 'hand');
END;
INSERT INTO held_both_ways
    SELECT pile_id FROM stack_reading GROUP BY pile_id HAVING count(DISTINCT way = 'hand') = 2;
"""
