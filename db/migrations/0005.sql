-- From version 4 to 5: when food that was not cooked was made or came in, where that was before its first reading.

alter table cooling_readings add column started_at text;

-- Why the seven days of the date mark don't apply to a recipe.

alter table recipes add column no_date_mark text not null default '';

-- How a till's file is read.
create table if not exists till_mappings (
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references till_mappings (id),
    stands integer not null default 1 check (stands in (0, 1)),
    lines text not null
) strict;
