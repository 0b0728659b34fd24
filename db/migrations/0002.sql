-- From version 1 to 2. Each table, column and index that a schema_*.sql file gains stands here as well, and
-- tests/db/test_migrate.py holds the two together. A new column needs a default, or may be null. Views and the guards of
-- log tables are made anew by themselves: name none here.

create table backups (                           -- a backup that was tried, the nightly ones among them
    id integer primary key autoincrement,
    made_at text not null,                       -- UTC
    path text not null,                          -- of the copy; where it should have gone, when it failed
    rows integer,                                -- in all tables; null: it failed
    bytes integer,
    sha256 text not null default '',             -- of the copy, hexadecimal
    problem text not null default ''             -- why it failed; '': it is whole
) strict;
