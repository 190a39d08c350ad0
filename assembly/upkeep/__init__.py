"""The life of a thing: repairs, sharpening, containers, what is lent to the department."""
