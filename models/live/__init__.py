"""The wing played with on a page of one's own computer: bays clicked open and shut, answers at once.

`cells` says what may be changed, `models.wing.web_entries` writes it into the wing file's text, `opened`
keeps the file that was opened, `engine` answers, `solid` and `plan` are the drawings, `saving` puts files in
place, `guard` keeps strangers out, `page` is the server. The server's libraries are loaded when it is asked
for and not before.
"""
