"""Paint pictures with Qt: on a painter, into a PDF, into an image, onto a printer."""
