"""Which sizes of pouches and rolls a department stocks: the least material, proved."""
