//! stub "edited-after-commit" "deleted-record"
