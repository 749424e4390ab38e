"""Design in-the-hoop embroidery for handbags."""
