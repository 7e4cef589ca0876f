//! Workbooks: read, bind, fill in place, write fresh.
