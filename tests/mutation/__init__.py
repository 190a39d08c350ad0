"""Whether a test notices when a rule is wrong; see ``python -m tests.mutation --help``."""
