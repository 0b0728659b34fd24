-- From version 4 to 5. Every reference names the column that it means, without which Datasette can't show the table: the
-- text of a table can't be altered, so SQLite's own way is to write it, and to read all of it again at the end.

-- When food that was not cooked was made or came in, where that was before its first reading.
alter table cooling_readings add column started_at text;

-- The name that a recipe's id is made of; why the seven days of the date mark don't apply to it; how a piece was worked
-- before it is cooked, and so under which minimum it stands; equipment needed only some time after the work has begun.
alter table recipes add column first_called text not null default '';
alter table recipes add column no_date_mark text not null default '';
alter table pieces add column worked text not null default '' check (worked in ('', 'intact', 'injected', 'minced', 'stuffed'));
alter table recipe_equipment add column after_s integer not null default 0;

-- A tick of a cut knows what breakdowns of its day had given before it; what came of one is found by its code.
alter table task_ticks add column cut_before text;
create index if not exists breakdowns_day on breakdowns (broken_on);
create index if not exists breakdowns_code on breakdowns (code);
create index if not exists breakdown_outputs_code on breakdown_outputs (breakdown_code);

-- An order line knows what the sums said as it was written.
alter table order_lines add column sums text;

-- What an item is bought as is asked for by item.
create index if not exists products_item on products (item_id);

-- A credit may name the document of the goods that it is for.
alter table deliveries add column credits text not null default '';

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

pragma writable_schema = on;
update sqlite_master set sql = replace(replace(sql, 'references allergen_regimes', 'references allergen_regimes (regime, code)'),
    'references allergen_regimes (regime, code) (', 'references allergen_regimes (') where type = 'table';
update sqlite_master set sql = replace(replace(sql, 'references allergens', 'references allergens (id)'),
    'references allergens (id) (', 'references allergens (') where type = 'table';
update sqlite_master set sql = replace(replace(sql, 'references components', 'references components (id)'),
    'references components (id) (', 'references components (') where type = 'table';
update sqlite_master set sql = replace(replace(sql, 'references cooking_minimums', 'references cooking_minimums (id)'),
    'references cooking_minimums (id) (', 'references cooking_minimums (') where type = 'table';
update sqlite_master set sql = replace(replace(sql, 'references equipment', 'references equipment (id)'),
    'references equipment (id) (', 'references equipment (') where type = 'table';
update sqlite_master set sql = replace(replace(sql, 'references holding_rules', 'references holding_rules (id)'),
    'references holding_rules (id) (', 'references holding_rules (') where type = 'table';
update sqlite_master set sql = replace(replace(sql, 'references items', 'references items (id)'),
    'references items (id) (', 'references items (') where type = 'table';
update sqlite_master set sql = replace(replace(sql, 'references people', 'references people (id)'),
    'references people (id) (', 'references people (') where type = 'table';
update sqlite_master set sql = replace(replace(sql, 'references products', 'references products (id)'),
    'references products (id) (', 'references products (') where type = 'table';
update sqlite_master set sql = replace(replace(sql, 'references recipes', 'references recipes (id)'),
    'references recipes (id) (', 'references recipes (') where type = 'table';
update sqlite_master set sql = replace(replace(sql, 'references reference_yields', 'references reference_yields (id)'),
    'references reference_yields (id) (', 'references reference_yields (') where type = 'table';
update sqlite_master set sql = replace(replace(sql, 'references stations', 'references stations (id)'),
    'references stations (id) (', 'references stations (') where type = 'table';
update sqlite_master set sql = replace(replace(sql, 'references suppliers', 'references suppliers (id)'),
    'references suppliers (id) (', 'references suppliers (') where type = 'table';
update sqlite_master set sql = replace(replace(sql, 'references surfaces', 'references surfaces (id)'),
    'references surfaces (id) (', 'references surfaces (') where type = 'table';
pragma writable_schema = reset;
