"""Policy: its verbs and pages, and what another value, supply or sterilizer would change."""
