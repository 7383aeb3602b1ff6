"""What each rule of reading refuses and why, one line each, for the writers of problems and for the handbook."""

from __future__ import annotations

MANUAL: dict[str, str] = {
    "folder-missing": "A folder that the curriculum needs is not there.",
    "file-missing": "A file that the curriculum needs is not there.",
    "file-unexpected": "A file or folder stands where nothing reads it, so what it says would be lost without a word.",
    "file-name": "A file is named so that its name cannot be an id: small letters, digits and single hyphens.",
    "file-unreadable": "A file cannot be opened, or is not an ordinary file.",
    "file-too-large": "A file is over the size limit and was not read.",
    "file-not-utf8": "A file is not saved as UTF-8, so its accents and signs cannot be told.",
    "file-empty": "A file holds nothing.",
    "link-outside": "A link leads out of the curriculum folder, to files that are not kept with it.",
    "schema-line": "The first line does not name the schema that lets an editor complete and check the file.",
    "yaml-syntax": "The file is not YAML from some place on.",
    "yaml-tab": "A line is indented with a tab, which YAML does not allow.",
    "yaml-invisible-character": "A character that nobody can see changes what is read or printed.",
    "yaml-duplicate-key": "One group of fields gives a field twice; a reader cannot tell which one counts.",
    "yaml-merge-key": "A group of fields is copied in with `<<`; the handbook wants fields where they count.",
    "yaml-field-name": "A field's name is not plain text, often because a text begins with a brace.",
    "yaml-alias": "A reference with a star leads nowhere, into itself, or stands for too many values.",
    "yaml-tag": "A value has a YAML tag, such as `!!python/object`; tags are never read.",
    "yaml-documents": "A file holds more than one document; the second would be lost.",
    "yaml-too-deep": "Lists and fields stand too many levels inside one another.",
    "field-missing": "A field that the record needs is not there.",
    "field-unknown": "A field is not one of the record's, often because its name is misspelled.",
    "value-wrong": "A value does not have the form that its field takes.",
    "id-not-file-name": "A record's id differs from the name of its file.",
    "id-repeated": "Two records of one kind have one id.",
    "strand-not-folder": "A skill stands in the folder of another strand.",
    "revisions-unreadable": "The file of the sheets printed earlier does not say what each of them listed.",
    "more-problems": "A file has so many problems that only the first are listed.",
}
"""Rule → one line."""
