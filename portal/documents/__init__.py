"""Papers: a frozen value in, the bytes of a PDF out; knows no session, no request and no clock."""
