create view dish_item as
-- One row per dish and item that is in it. grain: dish_id, item_id. needs: explosion, recipes, items.
-- quantity: of the item in one base unit of the dish (one plate where it yields plates), in unit; a real, for reading and sorting.
-- unit: base unit of the item: g, ml or each.
-- path_count: ways it gets there; by-product credits do not count.
-- is_removable: 1 where every way passes a component that can be left off, else 0.
-- first_path: one of the ways, as a JSON list of names from the plate down to the item.
select
    dish.id as dish_id,
    dish.name as dish,
    dish.status,
    item.id as item_id,
    item.name as item,
    sum(explosion.amount) as quantity,
    item.unit,
    count(*) as path_count,
    min(explosion.removable_id is not null) as is_removable,
    min(explosion.path) as first_path
from explosion
join recipes as dish on dish.id = explosion.recipe_id and dish.kind = 'dish'
join items as item on item.id = explosion.item_id
where explosion.amount > 0
group by dish.id, item.id
