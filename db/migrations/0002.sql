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

-- The eight facts of a receipt line, freezes of a batch, and shellfish tags.
alter table deliveries add column description text not null default '';
alter table deliveries add column document_kind text not null default '';
alter table deliveries add column shipped_from text not null default '';
alter table deliveries add column received_where text not null default '';
alter table deliveries add column lot_source text not null default '';
create table if not exists batch_freezes (
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references batch_freezes (id),
    stands integer not null default 1 check (stands in (0, 1)),
    recipe_id text not null,
    lot_code text not null,
    what text not null check (what in ('frozen', 'thawed')),
    moved_on text not null,
    note text not null default ''
) strict;
create table if not exists shellfish_tags (
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references shellfish_tags (id),
    stands integer not null default 1 check (stands in (0, 1)),
    item_id text not null,
    lot_code text not null,
    certificate text not null default '',
    harvested_on text,
    last_served_on text,
    emptied_on text,
    note text not null default ''
) strict;

-- Trials: versions of a draft dish, promotions, and the version that a recipe is of.
alter table recipes add column version integer;
create table if not exists trial_versions (
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references trial_versions (id),
    stands integer not null default 1 check (stands in (0, 1)),
    trial_id text not null,
    trial text not null,
    kind text not null default 'dish' check (kind in ('dish', 'sub-recipe')),
    version integer not null,
    based_on integer,
    began_from text,
    written_on text not null,
    section text not null default '',
    yield_text text not null default '',
    price text not null default '',
    target_cost text not null default '',
    station text not null default '',
    surfaces text not null default '',
    lines text not null,
    method text not null default '',
    note text not null default ''
) strict;
create table if not exists promotions (
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references promotions (id),
    stands integer not null default 1 check (stands in (0, 1)),
    trial_id text not null,
    trial text not null,
    version integer not null,
    dish_id text not null,
    decided_on text not null,
    from_on text not null,
    to_on text,
    note text not null default ''
) strict;
create index if not exists trial_versions_trial on trial_versions (trial_id, version);
create index if not exists promotions_dish on promotions (dish_id, from_on);

-- Recipes and items as they stood, portions promised, and cuts that come out of one piece.
alter table recipes add column joint text not null default '';
alter table recipes add column market_price text;
alter table recipes add column market_quantity text;
create table if not exists book_versions (  -- a recipe or item as it stood from a day on; written by the load that changed it
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references book_versions (id),
    stands integer not null default 1 check (stands in (0, 1)),
    what text not null check (what in ('recipe', 'item')),
    of_id text not null,
    since_on text not null,                      -- the kitchen's day of the load; before a thing's first row it stood so too
    state text not null                          -- JSON, as db/queries.sql makes it; '' = no longer in the kitchen's files
) strict;
create table if not exists lot_reservations (  -- portions of an ageing lot promised to a service
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references lot_reservations (id),
    stands integer not null default 1 check (stands in (0, 1)),
    lot_code text not null,
    for_on text not null,                        -- day of the service
    portions integer not null check (portions > 0),
    portion_g text not null,                     -- exact, weight of one of them
    what_for text not null default '',           -- table, party, name
    note text not null default ''
) strict;
create index if not exists book_versions_of on book_versions (what, of_id);
create index if not exists lot_reservations_lot on lot_reservations (lot_code, for_on);
-- The day: shifts, days off, pans and holding times, and what prep and orders write down.
create table shifts (                            -- when somebody works, week by week; none at all: everybody, whenever prep is on
    person_id text not null references people,
    weekday integer not null check (weekday between 1 and 7),  -- ISO, 1 = Monday
    begins_at text not null,                     -- HH:MM, local
    ends_at text not null,                       -- HH:MM, local; before begins_at: past midnight
    primary key (person_id, weekday, begins_at)
) strict;

create table holidays (                          -- a day without service, or without one supplier's delivery
    on_date text not null,                       -- ISO date
    supplier_id text references suppliers,       -- null: the kitchen itself is closed
    note text not null default ''
) strict;
alter table recipes add column pan text;
alter table recipe_equipment add column hold_s integer;
create table if not exists forecast_overrules (  -- a person's number in place of the expected one
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references forecast_overrules (id),
    stands integer not null default 1 check (stands in (0, 1)),
    served_on text not null,
    service text not null,
    recipe_id text,                              -- a dish; null: the covers of the service
    number integer not null check (number >= 0), -- covers, or plates
    note text not null default ''
) strict;
create table if not exists task_ticks (  -- what became of a piece of prep work
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references task_ticks (id),
    stands integer not null default 1 check (stands in (0, 1)),
    prep_on text not null,                       -- the kitchen's day
    kind text not null default 'make' check (kind in ('make', 'thaw', 'bath', 'light')),
    recipe_id text,                              -- null: the equipment is meant
    equipment_id text,                           -- what was lit
    state text not null check (state in ('started', 'part', 'done', 'burnt')),
    quantity text,                               -- what was made, or is under way; null: not said
    unit text check (unit in ('g', 'ml', 'each')),
    planned text,                                -- what the list asked for, in unit
    ends_at text,                                -- UTC: when what was started will be ready
    batch_id integer,                            -- batches.id, where a batch was made
    note text not null default ''
) strict;
create table if not exists absences (  -- somebody is not there on a day
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references absences (id),
    stands integer not null default 1 check (stands in (0, 1)),
    person_id text not null,
    on_date text not null,
    from_at text,                                -- HH:MM, local; null: all day
    note text not null default ''
) strict;
create table if not exists order_lines (  -- one line of an order: what a person changed, or what was sent
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references order_lines (id),
    stands integer not null default 1 check (stands in (0, 1)),
    supplier_id text not null,
    due_on text not null,                        -- the day it should come
    item_id text not null,
    product_id text,
    packs text,                                  -- exact; null: by weight
    quantity text not null,                      -- exact, in unit; 0: nothing of it
    unit text not null check (unit in ('g', 'ml', 'each')),
    state text not null check (state in ('changed', 'sent')),
    note text not null default ''
) strict;
create table if not exists prep_plans (  -- the plan of a day as it was last laid out, so that the next one moves as little as possible
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references prep_plans (id),
    stands integer not null default 1 check (stands in (0, 1)),
    prep_on text not null,
    plan text not null                           -- JSON: task -> first minute of the day and person
) strict;
create index if not exists task_ticks_day on task_ticks (prep_on, recipe_id);
create index if not exists order_lines_due on order_lines (due_on, supplier_id);

-- A kitchen's own rule for a piece.
alter table pieces add column own_core_f real;
alter table pieces add column own_hold_s real;
alter table pieces add column own_rule text not null default '';
create index if not exists batches_lot on batches (lot_code, recipe_id);
create index if not exists batch_freezes_lot on batch_freezes (lot_code);
create index if not exists shellfish_tags_lot on shellfish_tags (lot_code);
create index if not exists deliveries_lot on deliveries (lot_code);
create index if not exists deliveries_first_seen on deliveries (item_id) where product_id is null and description <> '';

-- Lot codes are looked for by how they begin.
create index if not exists batches_code on batches (lot_code collate nocase);
create index if not exists deliveries_code on deliveries (lot_code collate nocase);
create index if not exists ageing_lots_code on ageing_lots (lot_code collate nocase);

create table photos (                            -- a recipe's picture: made small at load, without what the camera wrote
    recipe_id text primary key references recipes,
    source_sha256 text not null,                 -- of the kitchen's own file, hexadecimal
    width integer not null,                      -- px
    height integer not null,                     -- px
    picture blob not null                        -- JPEG
) strict;
