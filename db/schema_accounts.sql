-- Who may come in. A file of its own beside the kitchen's, readable by its owner alone; no page ever serves it.

create table if not exists people (  -- somebody, or a shared tablet, with a role
    id integer primary key,
    name text not null,                          -- as shown, and as the logs keep it
    name_key text not null unique,               -- as compared: case and width of letters don't matter
    role text not null check (role in ('server', 'cook', 'station', 'chef', 'manager')),
    pin text,                                    -- scrypt; null: has none
    password text,                               -- scrypt; null: has none
    is_disabled integer not null default 0 check (is_disabled in (0, 1)),
    made_at integer not null,                    -- seconds since 1970, UTC, as all times here
    changed_at integer not null
) strict;

create table if not exists sessions (  -- one signing-in on one device
    token text primary key,                      -- SHA-256 of what the cookie holds
    person_id integer not null references people (id),
    device text,                                 -- SHA-256 of the device's cookie
    made_at integer not null,
    expires_at integer not null,
    ended_at integer                             -- signed out, disabled or reset; null: still holds
) strict;

create table if not exists devices (  -- a browser on which somebody has signed in
    token text primary key,                      -- SHA-256 of what the cookie holds
    made_at integer not null,
    used_at integer not null
) strict;

create table if not exists tries (  -- wrong PINs and passwords in a row, of one name or one address
    lane text primary key,
    failures integer not null,
    last_at integer not null,
    until integer not null                       -- no further try before
) strict;

create table if not exists account_events (  -- what was done to an account, by whom
    id integer primary key,
    at integer not null,
    actor text not null,
    person_id integer references people (id),
    what text not null
) strict;

create index if not exists sessions_person on sessions (person_id);

create table if not exists feed_tokens (  -- the secret address of somebody's calendar feed
    id integer primary key,
    public text not null unique,                 -- the part that finds the row
    secret text not null,                        -- SHA-256 of the part that proves it
    person_id integer references people (id),    -- null: the household's, while nobody has an account
    made_at integer not null,
    read_at integer,                             -- when it was last read; null: never
    revoked_at integer                           -- taken back; null: it still answers
) strict;
