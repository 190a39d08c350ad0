"""Each person's own first page: the Bench with what waits, the liaison's Ask, the coordinators'
*What waits for you*; and how each of them works, in five steps."""
