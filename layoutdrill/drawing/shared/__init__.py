"""What all families of drawing share: the technique of a process, sizes, refusals, the finished drawing."""
