-- name: short
-- What is short or out now.
select coalesce(item_id, recipe_id), thing, state from shortage_now

-- name: minimums
-- The rules that some recipes are cooked under, by their pieces or by one step of their cooking.
select distinct r.name as recipe, m.food_class, m.min_temp_f, m.hold_seconds, m.edition, m.section, m.basis
from (
  select recipe_id, minimum_id from pieces union select recipe_id, minimum_id from cooking_steps
) as cooked
join recipes as r on r.id = cooked.recipe_id join cooking_minimums as m on m.id = cooked.minimum_id
where r.id in (select value from json_each(:recipes)) order by r.name, m.min_temp_f

-- name: plate
-- The lines of one dish as the cook wrote them.
select line, is_removable from components where recipe_id = :dish order by position

-- name: all_label_words
-- Every word of an ingredient list that points to an allergen, with where that is said.
select word, allergen_id, presence, why, source, basis from label_words

-- name: labels_to_read
-- What nobody has read, what reaches most dishes first; an item without any product only where it reaches one.
select u.kind, u.id, u.name, coalesce(s.name, ''), i.id, i.name, count(distinct d.dish_id), u.is_printed
from unread_label as u left join suppliers as s on s.id = u.supplier_id join items as i on i.id = u.item_id
left join dish_item as d on d.item_id = u.item_id
group by u.kind, u.id having u.kind <> 'no product' or count(d.dish_id) > 0
order by count(distinct d.dish_id) desc, u.name

-- name: products_bought
-- How many products the kitchen buys.
select count(*) from products where is_active = 1

-- name: product
-- One product: what it is, and what was read of it.
select p.id, p.name, s.name, i.id, i.name, p.code, p.ingredients, p.reviewed_on, p.read_what
from products as p join suppliers as s on s.id = p.supplier_id join items as i on i.id = p.item_id where p.id = :product

-- name: declared
-- What a product's review found.
select a.id, a.name, x.presence from product_allergens as x join allergens as a on a.id = x.allergen_id
where x.product_id = :product order by x.presence, a.name
