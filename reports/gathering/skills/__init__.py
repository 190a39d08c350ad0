"""Skills checks: what is watched, its sheet, what is put on record, and how persons stand."""
