"""Every measured figure once: what it is (`figure`), one file of entries a subject, and the lookups (`catalogue`)."""
