-- What people write down. Rows are never changed or removed: triggers refuse it for every row that did not come
-- from the kitchen's files (a load replaces those as a whole). db/build.py gives each table with a request_id those
-- triggers, and a view standing_NAME of the rows that count. A correction is a new row whose voids names the wrong one;
-- an undo is such a row with stands = 0.
--
-- In every table: request_id is made by the form, so a double tap is one row; recorded_at is the UTC instant of writing;
-- actor is who; origin is 'file', 'web' or 'load'. Quantities are decimal text in the base unit named by unit; a number that
-- does not end (a third of a quart) is rounded to nine places. on = ISO date (the kitchen's day), at = UTC instant.


create table if not exists deliveries (  -- one line of goods at the door
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references deliveries (id),
    stands integer not null default 1 check (stands in (0, 1)),
    document text not null default '',           -- delivery note or invoice number
    supplier_id text not null,
    product_id text,                             -- null: seen for the first time, nothing declared
    item_id text not null,
    kind text not null default 'goods' check (kind in ('goods', 'credit', 'charge', 'deposit')),
    ordered_on text,
    due_on text,                                 -- the day it was promised
    received_on text not null,
    unit text not null check (unit in ('g', 'ml', 'each')),
    ordered text,                                -- null: nothing was ordered, or not known
    received text not null,                      -- what came off the van, rejected part included
    rejected text not null default '0',
    reject_reason text not null default '',
    door_temp_f real,                            -- °F
    price text,                                  -- money, decimal text, for priced_quantity
    priced_quantity text,                        -- in unit
    lot_code text not null default '',           -- as printed by the supplier
    use_by text,                                 -- ISO date
    certificate text not null default '',        -- shellstock dealer number, ear tag
    harvested_on text,
    harvest_area text not null default '',
    note text not null default '',
    description text not null default '',        -- the product as printed, where it is not among the supplier's products
    document_kind text not null default '',      -- what document is: 'invoice', 'delivery note', 'bill of lading'
    shipped_from text not null default '',       -- the place it came from, where that is not the supplier's own
    received_where text not null default '',     -- the place it came to; '' = the kitchen's address
    lot_source text not null default '',         -- who gave the lot code, or where that is written; '' = the supplier
    credits text not null default ''             -- of a credit: document of the goods that it is for; '' = not said
) strict;

create table if not exists counts (  -- what is on hand of one thing
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references counts (id),
    stands integer not null default 1 check (stands in (0, 1)),
    item_id text,
    recipe_id text,
    counted_on text not null,
    counted_at text,                             -- UTC; null: end of counted_on
    quantity text not null,
    unit text not null check (unit in ('g', 'ml', 'each')),
    station_id text,
    note text not null default '',
    check ((item_id is null) <> (recipe_id is null))
) strict;

create table if not exists batches (  -- one batch made
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references batches (id),
    stands integer not null default 1 check (stands in (0, 1)),
    recipe_id text not null,
    lot_code text not null default '',           -- the kitchen's own
    made_on text not null,
    made_at text,
    quantity text not null,
    unit text not null check (unit in ('g', 'ml', 'each')),
    use_by text,                                 -- ISO date, last day of use
    frozen_on text,
    thawed_on text,
    from_lots text not null default '',          -- lot codes that went in, separated by ';'
    station_id text,
    note text not null default ''
) strict;

create table if not exists batch_uses (  -- part of a batch used or thrown away
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references batch_uses (id),
    stands integer not null default 1 check (stands in (0, 1)),
    batch_id integer,                            -- batches.id
    recipe_id text,
    item_id text,
    used_on text not null,
    quantity text not null,
    unit text not null check (unit in ('g', 'ml', 'each')),
    what text not null check (what in ('used', 'discarded')),
    reason text not null default '',
    note text not null default ''
) strict;

create table if not exists batch_freezes (  -- a batch went into the freezer or came out
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references batch_freezes (id),
    stands integer not null default 1 check (stands in (0, 1)),
    recipe_id text not null,
    lot_code text not null,                      -- the batch's own
    what text not null check (what in ('frozen', 'thawed')),
    moved_on text not null,                      -- ISO date
    note text not null default ''
) strict;

create table if not exists shellfish_tags (  -- what was written on the tag of one container of shellstock
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references shellfish_tags (id),
    stands integer not null default 1 check (stands in (0, 1)),
    item_id text not null,
    lot_code text not null,                      -- of the delivery
    certificate text not null default '',        -- dealer number on the tag
    harvested_on text,                           -- ISO date, as printed
    last_served_on text,                         -- ISO date: the last of it was sold or served
    emptied_on text,                             -- ISO date: the container was empty
    note text not null default ''
) strict;

create table if not exists ageing_lots (  -- one piece hung or shelved to age
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references ageing_lots (id),
    stands integer not null default 1 check (stands in (0, 1)),
    lot_code text not null,
    item_id text not null,
    cut_recipe_id text,                          -- what it will be cut into
    delivery_id integer,                         -- deliveries.id
    started_on text not null,
    start_g text not null,
    target_days integer,
    place text not null default '',
    length_cm real,
    price text,                                  -- money paid for the whole piece
    note text not null default ''
) strict;

create table if not exists weigh_ins (  -- one weighing of an ageing lot
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references weigh_ins (id),
    stands integer not null default 1 check (stands in (0, 1)),
    lot_code text not null,
    weighed_on text not null,
    weighed_at text,
    weight_g text not null,
    temp_f real,                                 -- °F of the room
    humidity_pct real,                           -- 0 to 100
    note text not null default ''
) strict;

create table if not exists breakdowns (  -- one primal broken into portions
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references breakdowns (id),
    stands integer not null default 1 check (stands in (0, 1)),
    code text not null,                          -- the kitchen's own number for it
    cut_recipe_id text not null,
    lot_code text not null default '',
    delivery_id integer,
    broken_on text not null,
    input_g text not null,
    note text not null default ''
) strict;

create table if not exists breakdown_outputs (  -- one thing that came out of a breakdown
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references breakdown_outputs (id),
    stands integer not null default 1 check (stands in (0, 1)),
    breakdown_code text not null,
    recipe_id text,                              -- the portion
    item_id text,                                -- the by-product; both null = loss
    weight_g text not null,
    pieces integer,
    note text not null default ''
) strict;

create table if not exists probe_readings (  -- one core temperature
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references probe_readings (id),
    stands integer not null default 1 check (stands in (0, 1)),
    recipe_id text,
    batch_id integer,
    lot_code text not null default '',
    piece text not null default '',              -- which piece, ticket or tray
    step text not null default '',               -- bath, grill, rest; a key of pieces.REHEATS for what is heated again
    read_at text not null,                       -- UTC
    core_f real not null,                        -- °F
    note text not null default ''
) strict;

create table if not exists cooling_readings (  -- one reading of a cooling pan
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references cooling_readings (id),
    stands integer not null default 1 check (stands in (0, 1)),
    log_code text not null,                      -- one pan, one cooling log
    recipe_id text,
    batch_id integer,
    read_at text not null,                       -- UTC
    temp_f real not null,                        -- °F
    note text not null default '',
    -- what it is, and so the paragraph of Food Code 3-501.14: cooked (A), from ingredients at room temperature (B), received
    -- warm by law (C); '' = not said. The last word written down about a log holds for all of it; none = cooked
    rule text not null default '' check (rule in ('', 'cooked', 'ambient', 'received')),
    item_id text,                                -- what was bought and cools as it came
    -- the last word written down about a log holds for all of it, for its rule as for its start
    started_at text                              -- UTC; (B) made, (C) came in, where that was before the first reading
) strict;

create table if not exists hold_checks (  -- one check of a thing held hot or cold
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references hold_checks (id),
    stands integer not null default 1 check (stands in (0, 1)),
    place text not null,
    recipe_id text,
    item_id text,
    direction text not null check (direction in ('hot', 'cold', 'frozen')),
    read_at text not null,
    temp_f real not null,                        -- °F
    note text not null default ''
) strict;

create table if not exists plates_sold (  -- plates of one dish in one service
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references plates_sold (id),
    stands integer not null default 1 check (stands in (0, 1)),
    recipe_id text not null,
    sold_on text not null,
    service text not null default '',
    plates integer not null,
    sales text,                                  -- money taken, decimal text, tax excluded
    note text not null default ''
) strict;

create table if not exists till_mappings (  -- how a till's file was read, each time it was read another way; the last one is offered
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references till_mappings (id),
    stands integer not null default 1 check (stands in (0, 1)),
    lines text not null                          -- as typed, one 'this = that' a line
) strict;

create table if not exists covers (  -- guests in one service
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references covers (id),
    stands integer not null default 1 check (stands in (0, 1)),
    served_on text not null,
    service text not null default '',
    booked integer,
    covers integer,                              -- null: not served yet
    note text not null default ''
) strict;

create table if not exists shortages (  -- an item or dish runs short or is back
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references shortages (id),
    stands integer not null default 1 check (stands in (0, 1)),
    item_id text,
    recipe_id text,
    state text not null check (state in ('short', 'out', 'back')),
    since_on text not null,
    since_at text,
    expected_on text,
    note text not null default '',
    check ((item_id is null) <> (recipe_id is null))
) strict;

create table if not exists tastings (  -- one person's notes on one version
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references tastings (id),
    stands integer not null default 1 check (stands in (0, 1)),
    recipe_id text not null,
    version integer not null default 1,
    tasted_on text not null,
    score integer check (score between 1 and 10),
    words text not null default '',
    decision text not null default ''
) strict;

create table if not exists trial_versions (  -- one version of a draft dish, whole, as the kitchen writes its recipes
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references trial_versions (id),
    stands integer not null default 1 check (stands in (0, 1)),
    trial_id text not null,                      -- from the trial's name; the dish's own id where it began from one
    trial text not null,                         -- name of the draft
    kind text not null default 'dish' check (kind in ('dish', 'sub-recipe')),
    version integer not null,                    -- counts from 1 within the trial
    name text not null default '',               -- what the dish is called once it is this version; '' = as it was
    based_on integer,                            -- the version it was changed from
    began_from text,                             -- recipes.id: the dish that version 1 is a copy of
    written_on text not null,
    section text not null default '',
    yield_text text not null default '',         -- as written, of one batch
    price text not null default '',              -- money as written, tax excluded
    target_cost text not null default '',        -- per cent as written
    station text not null default '',            -- name
    surfaces text not null default '',           -- names separated by ';'
    lines text not null,                         -- one component a line: '60 g Leek cream | can be left off'
    method text not null default '',             -- one step a line
    note text not null default ''
) strict;

create table if not exists promotions (  -- a version of a trial becomes the dish from a day on
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
    dish_id text not null,                       -- recipes.id that it becomes
    decided_on text not null,
    from_on text not null,                       -- first day
    to_on text,                                  -- last day, where one is set
    note text not null default ''
) strict;

create table if not exists allergen_changes (  -- a load changed what a dish declares
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references allergen_changes (id),
    stands integer not null default 1 check (stands in (0, 1)),
    dish_id text not null,
    dish_name text not null,
    allergen_id text not null,
    was text not null,                           -- 'not declared', ...; 'new dish' when it was not there
    now text not null,
    because text not null,                       -- product or path behind it
    changed_on text not null
) strict;

create table if not exists change_reads (  -- a chef has read a change
    id integer primary key autoincrement,
    request_id text not null unique,
    recorded_at text not null,
    actor text not null,
    origin text not null check (origin in ('file', 'web', 'load')),
    voids integer references change_reads (id),
    stands integer not null default 1 check (stands in (0, 1)),
    change_id integer not null
) strict;

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
    equipment_id text,                           -- what was lit or switched on: 'started', or is hot: 'done'
    state text not null check (state in ('started', 'part', 'done', 'burnt')),
    quantity text,                               -- what was made, or is under way; null: not said
    unit text check (unit in ('g', 'ml', 'each')),
    planned text,                                -- what the list asked for, in unit
    ends_at text,                                -- UTC: when what was started will be ready, or hot
    batch_id integer,                            -- batches.id, where a batch was made
    note text not null default '',
    cut_before text                              -- of a cut, in unit: what breakdowns of the day had given when it was written
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
    note text not null default '',
    sums text                                    -- exact, in unit: what the sums said as it was written; null: not known
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

create table if not exists loads (              -- one row each time recipes were replaced: a load, or a promotion
    id integer primary key autoincrement,
    loaded_at text not null,                     -- UTC
    source text not null,                        -- folder or workbook, as typed
    rows integer not null,
    warnings integer not null
) strict;

create table backups (                           -- a backup that was tried, the nightly ones among them
    id integer primary key autoincrement,
    made_at text not null,                       -- UTC
    path text not null,                          -- of the copy; where it should have gone, when it failed
    rows integer,                                -- in all tables; null: it failed
    bytes integer,
    sha256 text not null default '',             -- of the copy, hexadecimal
    problem text not null default ''             -- why it failed; '': it is whole
) strict;

create index if not exists deliveries_supplier on deliveries (supplier_id, received_on);
create index if not exists deliveries_item on deliveries (item_id, received_on);
create index if not exists counts_item on counts (item_id, counted_on);
create index if not exists counts_recipe on counts (recipe_id, counted_on);
create index if not exists batches_lot on batches (lot_code, recipe_id);
create index if not exists batches_recipe on batches (recipe_id, made_on);
create index if not exists batch_freezes_lot on batch_freezes (lot_code);
create index if not exists shellfish_tags_lot on shellfish_tags (lot_code);
create index if not exists deliveries_lot on deliveries (lot_code);
create index if not exists deliveries_first_seen on deliveries (item_id) where product_id is null and description <> '';
create index if not exists plates_sold_day on plates_sold (sold_on, recipe_id);
create index if not exists weigh_ins_lot on weigh_ins (lot_code, weighed_on);
create index if not exists cooling_readings_log on cooling_readings (log_code, read_at);
create index if not exists trial_versions_trial on trial_versions (trial_id, version);
create index if not exists promotions_dish on promotions (dish_id, from_on);
create index if not exists book_versions_of on book_versions (what, of_id);
create index if not exists lot_reservations_lot on lot_reservations (lot_code, for_on);
create index if not exists shortages_since on shortages (since_on);
create index if not exists task_ticks_day on task_ticks (prep_on, recipe_id);
create index if not exists breakdowns_day on breakdowns (broken_on);
create index if not exists breakdowns_code on breakdowns (code);
create index if not exists breakdown_outputs_code on breakdown_outputs (breakdown_code);
create index if not exists order_lines_due on order_lines (due_on, supplier_id);
create index if not exists batches_code on batches (lot_code collate nocase);
create index if not exists deliveries_code on deliveries (lot_code collate nocase);
create index if not exists ageing_lots_code on ageing_lots (lot_code collate nocase);
