"""Policy on paper and as lists: what another value would change."""
