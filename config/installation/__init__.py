"""An installation looked after: backed up, restored, moved to another database, examined."""
