-- name: left_over
-- By-products of one breakdown.
select i.name, o.weight_g from standing_breakdown_outputs as o join items as i on i.id = o.item_id
where o.breakdown_code = :code order by o.id
