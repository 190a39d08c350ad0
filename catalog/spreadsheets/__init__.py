"""Lists and count sheets as they arrive: workbook, cells, columns, checking, batches."""
