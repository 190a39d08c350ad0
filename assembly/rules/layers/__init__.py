"""What lies where in the basket of a set: blocks, layers to scale, moved by hand, in words."""
