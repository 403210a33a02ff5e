"""Geometry of sewn books: sections, swell, spine, creep, covers, stitching, cutting. All pure."""
