-- name: lots
-- Ageing lots that count, with the cut they are for and the breakdown that ended them, if any.
select a.lot_code, a.item_id, coalesce(i.name, a.item_id), a.cut_recipe_id, coalesce(r.name, ''), a.started_on, a.start_g, a.target_days,
  a.place, a.length_cm, a.price, d.price, d.priced_quantity,
  (select min(b.broken_on) from standing_breakdowns as b where b.lot_code = a.lot_code and b.lot_code <> ''), a.note
from standing_ageing_lots as a left join items as i on i.id = a.item_id left join recipes as r on r.id = a.cut_recipe_id
left join standing_deliveries as d on d.id = a.delivery_id where a.started_on <= :day order by a.started_on, a.lot_code

-- name: weigh_ins
-- Weighings of every lot in order of day.
select lot_code, weighed_on, weight_g, temp_f, humidity_pct, note from standing_weigh_ins where weighed_on <= :day order by weighed_on, id

-- name: promises
-- Portions promised to services that are not past.
select id, lot_code, for_on, portions, portion_g, what_for, actor from standing_lot_reservations where for_on >= :day
order by for_on, id

-- name: by_products
-- What each cut leaves: share of the weight that went in, and its credit for one gram where it is written.
select b.recipe_id, i.name, b.share, b.credit_price, b.priced_quantity, i.id from by_products as b join items as i on i.id = b.item_id and i.unit = 'g'
order by b.recipe_id, b.position

-- name: breakdowns
-- Pieces broken down, newest first, with each weight and number of portions that came out.
select b.cut_recipe_id, b.code, b.broken_on, b.input_g, o.weight_g, o.pieces from standing_breakdowns as b
join standing_breakdown_outputs as o on o.breakdown_code = b.code and o.recipe_id is not null where b.broken_on <= :day
order by b.broken_on desc, b.id desc

-- name: cuts
-- Cuts with their portion and trim.
select id, name, portion_quantity, coalesce(trim, '0'), joint from recipes where kind = 'cut' order by name

-- name: left_over
-- By-products of one breakdown.
select i.name, o.weight_g from standing_breakdown_outputs as o join items as i on i.id = o.item_id
where o.breakdown_code = :code order by o.id
