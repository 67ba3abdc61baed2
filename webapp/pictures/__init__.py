"""Camera files: what they say of themselves, and what they show.

    kinds       what a file is, from its first bytes
    metadata    the settings that the camera wrote into the file
    decode      pixels to linear light
    measure     patches to readings
    previews    a small upright picture for the page
    thumbnails  the same, small enough to have many on a page
    pyramid     a picture as tiles, streamed
    sharpness   local contrast by tile, and what another picture gained or lost
    isolation   all of the above in a process whose death costs only the reading
    mixing      pictures lit by one light each, added up in linear light
    rule        two taps on a rule to millimetres per pixel
    store       originals kept by the hash of their content
    watch       new files in a folder

Nothing here knows of the database or the ledger. The heavy libraries are imported on first use.
"""
