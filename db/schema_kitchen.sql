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
    station_id text references stations (id)
) strict;

create table equipment (                         -- ovens, burners, baths, the fire: what limits the day
    id text primary key,
    name text not null unique,
    station_id text references stations (id),
    capacity text not null default '1',          -- exact; how many tasks, trays or litres at once
    capacity_unit text not null default 'task',
    lead_s integer not null default 0,           -- s from lighting or switching on until it is hot
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

create table shifts (                            -- when somebody works, week by week; none at all: everybody, whenever prep is on
    person_id text not null references people (id),
    weekday integer not null check (weekday between 1 and 7),  -- ISO, 1 = Monday
    begins_at text not null,                     -- HH:MM, local
    ends_at text not null,                       -- HH:MM, local; before begins_at: past midnight
    primary key (person_id, weekday, begins_at)
) strict;

create table holidays (                          -- a day without service, or without one supplier's delivery
    on_date text not null,                       -- ISO date
    supplier_id text references suppliers (id),       -- null: the kitchen itself is closed
    note text not null default ''
) strict;

create table items (
    id text primary key,
    name text not null unique,
    category text not null,                      -- meat, poultry, fish, shellfish, dairy, egg, produce, dry, oil, drink, other
    unit text not null check (unit in ('g', 'ml', 'each')),  -- base unit it is kept in
    receiving_rule_id text references holding_rules (id),  -- what the door temperature is held against
    shelf_life_days integer,
    edible_yield text,                           -- exact, 0 to 1: EP / AP, the kitchen's own figure
    reference_yield_id integer references reference_yields (id),
    tags text not null default '',               -- garlic; alcohol; pork: what a guest may ask for beyond allergens
    note text not null default ''
) strict;

create table item_tags (
    item_id text not null references items (id),
    tag text not null,                           -- lower case
    primary key (item_id, tag)
) strict;

create table item_measures (                     -- 1 measure of this item = quantity in its unit
    item_id text not null references items (id),
    measure text not null,                       -- 'ml', 'g', 'each', 'bunch', 'sprig', 'clove', ...
    quantity text not null,                      -- exact, in items.unit
    source text not null default '',             -- 'weighed here', or the reference food
    basis text not null default '',
    primary key (item_id, measure)
) strict;

create table products (                          -- what one supplier sells under an item
    id text primary key,
    supplier_id text not null references suppliers (id),
    item_id text not null references items (id),
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

create index products_item on products (item_id);

create table product_allergens (                 -- only what a review found; a reviewed product without a row does not declare it
    product_id text not null references products (id),
    allergen_id text not null references allergens (id),
    presence text not null check (presence in ('contains', 'may contain')),
    primary key (product_id, allergen_id)
) strict;

create table price_quotes (                      -- price lists: what a supplier asks
    product_id text not null references products (id),
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
    station_id text references stations (id),
    shelf_life_days integer,
    no_date_mark text not null default '',       -- why the Food Code's seven days don't apply; '' = they do (db/date_marks.py)
    storage text not null default '',
    menu_price text,                             -- money, decimal text, tax excluded
    target_cost_pct text,                        -- exact, 0 to 100
    from_on text,                                -- ISO date: first day on the menu
    to_on text,                                  -- ISO date: last day on the menu
    active_s integer,                            -- s of somebody's hands for one batch
    passive_s integer,                           -- s that it takes alone
    least_batch text,                            -- exact, batches
    pan text,                                    -- exact, in yield_unit: what one pan, tin or mould holds; runs are whole pans
    shrink text,                                 -- cut: exact 0 to 1, weight lost to ageing
    trim text,                                   -- cut: exact 0 to 1, of the aged weight, cut away (by-products within)
    portion_quantity text,                       -- cut: exact g of one portion
    joint text not null default '',              -- cut: the same word for all cuts that come from one piece; '' = it is alone
    market_price text,                           -- cut: money, decimal text, for market_quantity of it bought ready cut
    market_quantity text,                        -- cut: exact g
    photo text not null default '',
    note text not null default '',
    version integer,                             -- of the trial it was promoted from; null = it never was
    first_called text not null default '',       -- the name that its id is made of, where it has another now
    origin text not null                         -- file and row, or the promotion
) strict;

create table recipe_measures (                   -- 1 measure of this recipe's yield = quantity in its yield_unit
    recipe_id text not null references recipes (id),
    measure text not null,
    quantity text not null,                      -- exact
    primary key (recipe_id, measure)
) strict;

create table photos (                            -- a recipe's picture: made small at load, without what the camera wrote
    recipe_id text primary key references recipes (id),
    source_sha256 text not null,                 -- of the kitchen's own file, hexadecimal
    width integer not null,                      -- px
    height integer not null,                     -- px
    picture blob not null                        -- JPEG
) strict;

create table components (
    id integer primary key,
    recipe_id text not null references recipes (id),
    position integer not null,
    line text not null,                          -- as the cook wrote it
    item_id text references items (id),
    sub_recipe_id text references recipes (id),
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
    recipe_id text not null references recipes (id),
    position integer not null,
    item_id text not null references items (id),
    share text not null,                         -- exact, 0 to 1, of the weight that went in
    quantity text not null,                      -- exact, in items.unit, for one batch
    credit_price text,                           -- money per priced_quantity, decimal text; null = market price
    priced_quantity text,                        -- exact, in items.unit
    primary key (recipe_id, position)
) strict;

create table method_steps (
    recipe_id text not null references recipes (id),
    position integer not null,
    text text not null,
    primary key (recipe_id, position)
) strict;

create table recipe_surfaces (
    recipe_id text not null references recipes (id),
    surface_id text not null references surfaces (id),
    primary key (recipe_id, surface_id)
) strict;

create table recipe_equipment (
    recipe_id text not null references recipes (id),
    equipment_id text not null references equipment (id),
    quantity text not null default '1',          -- exact, in equipment.capacity_unit, for one batch
    hold_s integer,                              -- s that it is held; null: the rest of the work, four hours at most
    after_s integer not null default 0,          -- s from the start of the work until it is needed: a loaf goes in once it has risen
    primary key (recipe_id, equipment_id)
) strict;

create table pieces (                            -- what a cooking programme is cooked on
    recipe_id text primary key references recipes (id),
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
    minimum_id text references cooking_minimums (id), -- the rule it is cooked under
    band_low_f real,                             -- °F, the chef's own band of doneness
    band_high_f real,
    organism text not null default '',
    own_core_f real,                             -- °F, the kitchen's own rule; null = it has none for this piece
    own_hold_s real,                             -- s
    own_rule text not null default '',           -- where that rule stands
    -- how it was worked before it is cooked; '' = nobody said, then the words of its names count
    worked text not null default '' check (worked in ('', 'intact', 'injected', 'minced', 'stuffed'))
) strict;

create table cooking_steps (
    recipe_id text not null references recipes (id),
    position integer not null,
    kind text not null,                          -- bath, oven, grill, pan, hot zone, cool zone, hang, rest, ice, chiller, blast chiller
    temp_f real,                                 -- °F of the medium, as the law and the kitchen say it
    temp_c real,                                 -- °C of the medium
    end_f real,                                  -- °F it runs to by the end; null = it stays as it is
    end_c real,                                  -- °C it runs to by the end
    seconds real,                                -- s; null = until until_core_f
    until_core_f real,                           -- °F
    flips integer not null default 0,
    humidity text not null default '',           -- oven: 'dry' or 'humid'
    minimum_id text references cooking_minimums (id),
    note text not null default '',
    primary key (recipe_id, position)
) strict;

create table substitutes (                       -- what may stand in for a thing, everywhere or in one recipe
    id integer primary key,
    for_item_id text references items (id),
    for_recipe_id text references recipes (id),
    in_recipe_id text references recipes (id),        -- null = everywhere
    with_item_id text references items (id),
    with_recipe_id text references recipes (id),
    ratio text not null default '1',             -- exact: quantity of the substitute for one of the original, in the units below
    ratio_unit text not null default '',         -- base unit of the substitute; '' = same as the original
    note text not null default '',
    check ((for_item_id is null) <> (for_recipe_id is null)),
    check ((with_item_id is null) <> (with_recipe_id is null))
) strict;

create table pars (
    id integer primary key,
    item_id text references items (id),
    recipe_id text references recipes (id),
    weekday integer check (weekday between 1 and 7),  -- null = every day
    quantity text not null,                      -- exact, base unit
    amount real not null,
    check ((item_id is null) <> (recipe_id is null))
) strict;

-- Derived at load, in the same transaction.

create table explosion (                         -- one row a recipe x path to a bought item
    recipe_id text not null references recipes (id),
    path_no integer not null,
    item_id text not null references items (id),
    quantity text not null,                      -- exact: items.unit of the item, as used (edible), per one base unit of the recipe's yield; negative = by-product credit
    amount real not null,
    edible_yield text,                           -- exact, 0 to 1: the recipe line's own yield at the end of the path
    path text not null,                          -- JSON list of names from just below the recipe to the item
    component_ids text not null,                 -- JSON list of components.id along the path; -1 for a by-product line
    removable_id integer references components (id),  -- first removable component on the path, null = none
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
