-- name: kinds
-- Every kind in the index with the span of ids that it has.
select kind, first, last from search_kind

-- name: names
-- Names within a span of ids that answer a question to the index, in the order of the index.
select n.subject, n.name, n.note from search_text as t join search_name as n on n.id = t.rowid
where t.search_text match :question and t.rowid between :first and :last order by t.rowid limit :most

-- name: is_there
-- Whether anything within a span of ids answers a question to the index.
select 1 from search_text where search_text match :question and rowid between :first and :last limit 1

-- name: neighbours
-- Words with a spelling in common with these.
select distinct word from search_cut where cut in (select value from json_each(:cuts)) limit 200

-- name: long_neighbours
-- Long words with letters in common, those with most first.
select word from search_long where search_long match :pieces order by rank limit 80

-- name: batches
-- Batches whose lot code begins so, the latest first.
select b.id, coalesce(r.name, b.recipe_id), b.lot_code, b.made_on
from standing_batches as b left join recipes as r on r.id = b.recipe_id
where b.lot_code collate nocase >= :code and b.lot_code collate nocase < :code || char(1114111) order by b.made_on desc, b.id desc limit :most

-- name: ageing
-- Ageing lots whose code begins so, the latest first.
select a.lot_code, coalesce(i.name, a.item_id), a.started_on
from standing_ageing_lots as a left join items as i on i.id = a.item_id
where a.lot_code collate nocase >= :code and a.lot_code collate nocase < :code || char(1114111) order by a.started_on desc limit :most

-- name: deliveries
-- Deliveries whose lot code begins so, the latest first.
select coalesce(i.name, d.item_id), d.lot_code, d.received_on
from standing_deliveries as d left join items as i on i.id = d.item_id
where d.lot_code collate nocase >= :code and d.lot_code collate nocase < :code || char(1114111) order by d.received_on desc, d.id desc limit :most
