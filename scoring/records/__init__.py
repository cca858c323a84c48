"""Records: the answer logs, where they lie, and the index made from them."""
