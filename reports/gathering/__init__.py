"""From rows to documents."""
