-- The tables of version 1, as the first files had them. Kept as it was: test_migrate.py brings it up to today's.
-- Published figures that ship with stillroom. A load replaces them with the files in db/reference.
-- basis: 'read', 'read-excerpt', 'read-secondary' = seen in the source named; 'memory' = not seen, shown as such;
-- 'common practice' = trade habit without a source.

create table sources (
    id text primary key,
    title text not null,
    level text not null                          -- how much of it was read
) strict;

create table allergens (
    id text primary key,                         -- 'milk', 'walnut', 'cod'
    name text not null unique,                   -- as said at the table
    parent_id text references allergens,         -- 'cod' -> 'fish'; null for the top of a group
    also_called text not null default '',        -- other words, separated by ';'
    position integer not null,                   -- order on the guest page
    source text not null,
    basis text not null
) strict;

create table allergen_regimes (
    regime text not null,                        -- 'US', 'EU', 'UK', 'CA', 'ANZ', 'CODEX_2024', 'CODEX_1999'
    code text not null,                          -- the regime's group, 'tree_nut'
    name text not null,
    is_listed integer not null check (is_listed in (0, 1)),  -- 1: must be declared as an allergen; 0: optional or another rule
    covers text not null,
    threshold text not null,
    exemptions text not null,
    source text not null,
    basis text not null,
    primary key (regime, code)
) strict;

create table allergen_groups (                   -- which allergens a regime's group takes in
    regime text not null,
    code text not null,
    allergen_id text not null references allergens,
    primary key (regime, code, allergen_id),
    foreign key (regime, code) references allergen_regimes
) strict;

create table label_words (                       -- words on a label that point to an allergen: a suggestion, never a declaration
    id integer primary key,
    word text not null,                          -- lower case, accents folded
    allergen_id text not null references allergens,
    presence text not null check (presence in ('contains', 'may contain')),
    why text not null,
    source text not null,
    basis text not null
) strict;

create table cooking_minimums (
    id text primary key,
    food_class text not null,
    min_temp_f real,                             -- °F, core
    hold_seconds real,                           -- s at min_temp_f
    edition text not null,
    section text not null,
    note text not null,
    basis text not null,
    source_id text not null
) strict;

create table holding_rules (                     -- receiving, holding, cooling, dating
    id text primary key,
    rule text not null,
    temp_f real,                                 -- °F
    time_seconds real,                           -- s
    direction text not null,                     -- 'at most', 'at least', 'method', ...
    edition text not null,
    section text not null,
    note text not null,
    basis text not null,
    source_id text not null
) strict;

create table lethality (
    id integer primary key,
    product text not null,                       -- 'meat', 'poultry', 'patties'
    species text not null default '',
    fat_pct real,                                -- 0 to 100
    temp_f real not null,                        -- °F, core
    time_s real not null,                        -- s
    target text not null,                        -- '6.5 log', '7 log', '5 log'
    operator text not null default '=',
    edition text not null,
    basis text not null,
    source_id text not null,
    note text not null
) strict;

create table doneness_bands (
    id text primary key,
    food text not null,
    band text not null,
    low_f real,                                  -- °F
    high_f real,                                 -- °F
    kind text not null,
    basis text not null,
    source_id text not null,
    note text not null
) strict;

create table pathogens (
    id text primary key,
    organism text not null,
    matrix text not null,
    quantity text not null,                      -- 'D', 'z', 'min growth', ...
    temp_c real,                                 -- °C
    value text not null,                         -- as printed: a number or a range, in unit
    unit text not null,
    z_c text not null,                           -- K, as printed
    basis text not null,
    source_id text not null,
    note text not null
) strict;

create table thermal_properties (
    id text primary key,
    kind text not null,
    food_or_component text not null,
    property text not null,
    unit text not null,
    value_low real,
    value_high real,
    a0 real,
    a1 real,
    a2 real,
    temp_min_c real,                             -- °C
    temp_max_c real,                             -- °C
    water_pct real,                              -- 0 to 100
    basis text not null,
    source_id text not null,
    note text not null
) strict;

create table reference_yields (
    id integer primary key,
    food text not null,
    form text not null,
    yield_pct real,                              -- 0 to 100
    process text not null,
    ndb_no text not null,
    source text not null,
    place text not null,
    basis text not null,
    note text not null
) strict;

create table reference_densities (
    id integer primary key,
    food text not null,
    ndb_no text not null,
    g_per_us_cup text,                           -- exact text, g
    g_per_tbsp text,
    g_per_tsp text,
    g_per_fl_oz text,
    g_each text,
    each_measure text not null,
    check_note text not null,
    source text not null,
    basis text not null
) strict;

create table reference_cuts (
    id integer primary key,
    species text not null,
    imps_no text not null,
    name text not null,
    kind text not null,
    weight_range_lb_a text not null,             -- lb, 'low-high' as printed
    weight_range_lb_b text not null,
    weight_range_lb_c text not null,
    weight_range_lb_d text not null,
    fab_amount text not null,
    fab_share text not null,
    source text not null,
    basis text not null,
    note text not null
) strict;
-- What the kitchen's own files say. One load replaces all of it in one transaction.
--
-- Exact numbers are text: a decimal ('1133.980925') where it ends, else a fraction ('250/3'); db/exact.py reads and writes them.
-- A column named amount is the same number as a real, for reading and sorting only.
-- unit is the base unit of a quantity: 'g', 'ml' or 'each'. Money is in the kitchen's one currency.
-- ids are made from names: lower case, accents folded, words joined by '-'.

create table kitchen (                           -- one row a setting
    key text primary key,
    value text not null,
    note text not null default ''
) strict;

create table stations (
    id text primary key,
    name text not null unique,
    position integer not null default 0
) strict;

create table surfaces (                          -- a grill, fryer, board that foods share
    id text primary key,
    name text not null unique,
    station_id text references stations
) strict;

create table equipment (                         -- ovens, burners, baths, the fire: what limits the day
    id text primary key,
    name text not null unique,
    station_id text references stations,
    capacity text not null default '1',          -- exact; how many tasks, trays or litres at once
    capacity_unit text not null default 'task',
    lead_s integer not null default 0,           -- s from lighting to first use
    note text not null default ''
) strict;

create table people (
    id text primary key,
    name text not null unique,
    stations text not null default '',           -- ids separated by ';'
    note text not null default ''
) strict;

create table service_days (
    weekday integer not null check (weekday between 1 and 7),  -- ISO, 1 = Monday
    service text not null,
    opens_at text not null,                      -- HH:MM, local
    closes_at text not null,
    prep_from text not null default '',
    primary key (weekday, service)
) strict;

create table suppliers (
    id text primary key,
    name text not null unique,
    kind text not null default '',               -- farm, boat, dairy, wholesaler
    place text not null default '',
    contact text not null default '',
    phone text not null default '',
    email text not null default '',
    order_by text not null default '',           -- HH:MM, local, last order
    lead_days integer not null default 1,        -- days from order to door
    delivers_on text not null default '',        -- ISO weekdays, '135'
    minimum_order text,                          -- money, decimal text
    is_active integer not null default 1 check (is_active in (0, 1)),
    note text not null default ''
) strict;

create table items (
    id text primary key,
    name text not null unique,
    category text not null,                      -- meat, poultry, fish, shellfish, dairy, egg, produce, dry, oil, drink, other
    unit text not null check (unit in ('g', 'ml', 'each')),  -- base unit it is kept in
    receiving_rule_id text references holding_rules,  -- what the door temperature is held against
    shelf_life_days integer,
    edible_yield text,                           -- exact, 0 to 1: EP / AP, the kitchen's own figure
    reference_yield_id integer references reference_yields,
    tags text not null default '',               -- garlic; alcohol; pork: what a guest may ask for beyond allergens
    note text not null default ''
) strict;

create table item_tags (
    item_id text not null references items,
    tag text not null,                           -- lower case
    primary key (item_id, tag)
) strict;

create table item_measures (                     -- 1 measure of this item = quantity in its unit
    item_id text not null references items,
    measure text not null,                       -- 'ml', 'g', 'each', 'bunch', 'sprig', 'clove', ...
    quantity text not null,                      -- exact, in items.unit
    source text not null default '',             -- 'weighed here', or the reference food
    basis text not null default '',
    primary key (item_id, measure)
) strict;

create table products (                          -- what one supplier sells under an item
    id text primary key,
    supplier_id text not null references suppliers,
    item_id text not null references items,
    name text not null,
    brand text not null default '',
    code text not null default '',               -- the supplier's own code
    pack text not null default '',               -- as written: '6/#10', '4/1 gal'
    pack_quantity text,                          -- exact, in items.unit; null = catch weight
    is_active integer not null default 1 check (is_active in (0, 1)),
    reviewed_on text,                            -- ISO date; null = nobody has read its label
    read_what text check (read_what in ('label', 'specification', 'letter')),
    reviewed_by text not null default '',
    ingredients text not null default '',        -- ingredient list as printed
    note text not null default '',
    check ((reviewed_on is null) = (read_what is null))
) strict;

create table product_allergens (                 -- only what a review found; a reviewed product without a row does not declare it
    product_id text not null references products,
    allergen_id text not null references allergens,
    presence text not null check (presence in ('contains', 'may contain')),
    primary key (product_id, allergen_id)
) strict;

create table price_quotes (                      -- price lists: what a supplier asks
    product_id text not null references products,
    quoted_on text not null,                     -- ISO date
    price text not null,                         -- money, decimal text
    priced_quantity text not null,               -- exact, in items.unit: what that price buys
    origin text not null,                        -- file and row
    primary key (product_id, quoted_on)
) strict;

create table recipes (
    id text primary key,
    name text not null unique,
    kind text not null check (kind in ('dish', 'sub-recipe', 'cut')),
    section text not null default '',            -- where it stands on the menu
    status text not null default 'active' check (status in ('active', 'draft', 'retired')),
    yield_quantity text not null,                -- exact, in yield_unit, of one batch
    yield_unit text not null check (yield_unit in ('g', 'ml', 'each')),
    yield_text text not null,                    -- as written
    station_id text references stations,
    shelf_life_days integer,
    storage text not null default '',
    menu_price text,                             -- money, decimal text, tax excluded
    target_cost_pct text,                        -- exact, 0 to 100
    from_on text,                                -- ISO date: first day on the menu
    to_on text,                                  -- ISO date: last day on the menu
    active_s integer,                            -- s of somebody's hands for one batch
    passive_s integer,                           -- s that it takes alone
    least_batch text,                            -- exact, batches
    shrink text,                                 -- cut: exact 0 to 1, weight lost to ageing
    trim text,                                   -- cut: exact 0 to 1, of the aged weight, cut away (by-products within)
    portion_quantity text,                       -- cut: exact g of one portion
    photo text not null default '',
    note text not null default '',
    origin text not null                         -- file and row
) strict;

create table recipe_measures (                   -- 1 measure of this recipe's yield = quantity in its yield_unit
    recipe_id text not null references recipes,
    measure text not null,
    quantity text not null,                      -- exact
    primary key (recipe_id, measure)
) strict;

create table components (
    id integer primary key,
    recipe_id text not null references recipes,
    position integer not null,
    line text not null,                          -- as the cook wrote it
    item_id text references items,
    sub_recipe_id text references recipes,
    quantity text not null,                      -- exact, in unit, for one batch; edible weight where edible_yield is given
    amount real not null,
    unit text not null check (unit in ('g', 'ml', 'each')),  -- base unit of the item, or yield unit of the sub-recipe
    said_quantity text not null,                 -- '2½', exact as written
    said_unit text not null,                     -- 'qt'
    edible_yield text,                           -- exact, 0 to 1: EP / AP on this line
    is_removable integer not null default 0 check (is_removable in (0, 1)),  -- can be left off the plate
    scales text not null default 'straight',     -- 'straight', or why not: 'leavening', 'salt', 'spice', 'gelatine'
    prep text not null default '',               -- 'trimmed', 'peeled'
    check ((item_id is null) <> (sub_recipe_id is null)),
    unique (recipe_id, position)
) strict;
create index components_item on components (item_id);
create index components_sub_recipe on components (sub_recipe_id);

create table by_products (                       -- what a cut or recipe leaves that is worth something
    recipe_id text not null references recipes,
    position integer not null,
    item_id text not null references items,
    share text not null,                         -- exact, 0 to 1, of the weight that went in
    quantity text not null,                      -- exact, in items.unit, for one batch
    credit_price text,                           -- money per priced_quantity, decimal text; null = market price
    priced_quantity text,                        -- exact, in items.unit
    primary key (recipe_id, position)
) strict;

create table method_steps (
    recipe_id text not null references recipes,
    position integer not null,
    text text not null,
    primary key (recipe_id, position)
) strict;

create table recipe_surfaces (
    recipe_id text not null references recipes,
    surface_id text not null references surfaces,
    primary key (recipe_id, surface_id)
) strict;

create table recipe_equipment (
    recipe_id text not null references recipes,
    equipment_id text not null references equipment,
    quantity text not null default '1',          -- exact, in equipment.capacity_unit
    primary key (recipe_id, equipment_id)
) strict;

create table pieces (                            -- what a cooking programme is cooked on
    recipe_id text primary key references recipes,
    food text not null,                          -- 'lamb', 'pork', 'duck', 'eel'
    cut text not null default '',
    shape text not null check (shape in ('slab', 'cylinder', 'sphere', 'brick', 'rod', 'factor')),
    shape_factor real,                           -- [-], 0 slab, 1 cylinder, 2 sphere
    thickness_mm real not null,
    width_mm real,
    length_mm real,
    fat_pct real,                                -- 0 to 100
    water_pct real,
    start_c real not null,                       -- °C
    is_frozen integer not null default 0 check (is_frozen in (0, 1)),
    minimum_id text references cooking_minimums, -- the rule it is cooked under
    band_low_f real,                             -- °F, the chef's own band of doneness
    band_high_f real,
    organism text not null default ''
) strict;

create table cooking_steps (
    recipe_id text not null references recipes,
    position integer not null,
    kind text not null,                          -- bath, oven, pan, grill, hang, rest, ice, chiller
    temp_f real,                                 -- °F of the medium, as the law and the kitchen say it
    temp_c real,                                 -- °C of the medium
    seconds real,                                -- s; null = until until_core_f
    until_core_f real,                           -- °F
    flips integer not null default 0,
    humidity text not null default '',           -- oven: 'dry' or 'humid'
    minimum_id text references cooking_minimums,
    note text not null default '',
    primary key (recipe_id, position)
) strict;

create table substitutes (                       -- what may stand in for a thing, everywhere or in one recipe
    id integer primary key,
    for_item_id text references items,
    for_recipe_id text references recipes,
    in_recipe_id text references recipes,        -- null = everywhere
    with_item_id text references items,
    with_recipe_id text references recipes,
    ratio text not null default '1',             -- exact: quantity of the substitute for one of the original, in the units below
    ratio_unit text not null default '',         -- base unit of the substitute; '' = same as the original
    note text not null default '',
    check ((for_item_id is null) <> (for_recipe_id is null)),
    check ((with_item_id is null) <> (with_recipe_id is null))
) strict;

create table pars (
    id integer primary key,
    item_id text references items,
    recipe_id text references recipes,
    weekday integer check (weekday between 1 and 7),  -- null = every day
    quantity text not null,                      -- exact, base unit
    amount real not null,
    check ((item_id is null) <> (recipe_id is null))
) strict;

-- Derived at load, in the same transaction.

create table explosion (                         -- one row a recipe x path to a bought item
    recipe_id text not null references recipes,
    path_no integer not null,
    item_id text not null references items,
    quantity text not null,                      -- exact: items.unit of the item, as used (edible), per one base unit of the recipe's yield; negative = by-product credit
    amount real not null,
    edible_yield text,                           -- exact, 0 to 1: the recipe line's own yield at the end of the path
    path text not null,                          -- JSON list of names from just below the recipe to the item
    component_ids text not null,                 -- JSON list of components.id along the path; -1 for a by-product line
    removable_id integer references components,  -- first removable component on the path, null = none
    level integer not null,                      -- steps from the recipe to the item
    primary key (recipe_id, path_no)
) strict, without rowid;
create index explosion_item on explosion (item_id, recipe_id);

create table low_level (                         -- deepest level at which a recipe or item is used; dishes are 0
    id text primary key,
    level integer not null
) strict;

create table warnings (                          -- what the last load accepted but wants looked at
    id integer primary key,
    place text not null,
    code text not null,
    what text not null,
    why text not null,
    fix text not null
) strict;
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
    note text not null default ''
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
    step text not null default '',               -- bath, grill, rest, reheat
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
    note text not null default ''
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

create table if not exists loads (              -- one row a load
    id integer primary key autoincrement,
    loaded_at text not null,                     -- UTC
    source text not null,                        -- folder or workbook, as typed
    rows integer not null,
    warnings integer not null
) strict;


create index if not exists deliveries_supplier on deliveries (supplier_id, received_on);
create index if not exists deliveries_item on deliveries (item_id, received_on);
create index if not exists counts_item on counts (item_id, counted_on);
create index if not exists counts_recipe on counts (recipe_id, counted_on);
create index if not exists batches_recipe on batches (recipe_id, made_on);
create index if not exists plates_sold_day on plates_sold (sold_on, recipe_id);
create index if not exists weigh_ins_lot on weigh_ins (lot_code, weighed_on);
create index if not exists cooling_readings_log on cooling_readings (log_code, read_at);
create index if not exists shortages_since on shortages (since_on);
