"""Fields of the library and the supply: what each is called, where its figure is found, how it is typed and shown."""
