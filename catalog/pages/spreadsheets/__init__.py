"""The pages of a spreadsheet that is sent in."""
