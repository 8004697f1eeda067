"""What the pixels of a bitmap say: inks, fades, halftones, true detail.  Arrays in, plain data out; no page, no mm."""
