"""Something was wrong with a package: said by whoever sees it, looked into, counted by month."""
