"""Parts of the place of the shop book: forms, the list of entries, the unrolled press, the first start."""
