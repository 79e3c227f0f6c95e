"""Reading a raw kit: what each mesh is, from its name and its shape, with reason and confidence."""
