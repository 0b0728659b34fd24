create view delivery_line as
-- One row per line of goods at the door that counts. grain: delivery_id. needs: standing_deliveries, suppliers, items, products, holding_rules.
-- unit: base unit of the quantities on the line: g, ml or each.
-- ordered: in unit; null when nothing was ordered, or it is not known.
-- received: in unit, rejected part included.
-- short: ordered and not accepted, in unit, 0 where all came; null when ordered is.
-- rejected: in unit.
-- is_late: 1 where it came after the day promised; null when no day was promised.
-- door_temp_f: temperature at the door, °F; null when nobody measured.
-- limit_f: receiving rule of the item, °F; null when it has none.
-- is_out_of_range: 1 where the door temperature breaks that rule; null when either is missing.
-- unit_price: money for one price_unit, a real for reading and sorting; null when no price was written.
-- price_unit: kg, l or each.
select
    line.id as delivery_id,
    line.received_on,
    line.due_on,
    line.supplier_id,
    supplier.name as supplier,
    line.item_id,
    item.name as item,
    line.product_id,
    product.name as product,
    line.unit,
    cast(line.ordered as real) as ordered,
    cast(line.received as real) as received,
    max(cast(line.ordered as real) - (cast(line.received as real) - cast(line.rejected as real)), 0.0) as short,
    cast(line.rejected as real) as rejected,
    line.reject_reason,
    line.received_on > line.due_on as is_late,
    line.door_temp_f,
    rule.temp_f as limit_f,
    case rule.direction
        when 'at most' then line.door_temp_f > rule.temp_f
        when 'at least' then line.door_temp_f < rule.temp_f
    end as is_out_of_range,
    cast(line.price as real) / nullif(cast(line.priced_quantity as real), 0.0)
    * case line.unit when 'each' then 1.0 else 1000.0 end as unit_price,
    case line.unit when 'g' then 'kg' when 'ml' then 'l' else 'each' end as price_unit,
    line.document,
    line.note
from standing_deliveries as line
left join suppliers as supplier on supplier.id = line.supplier_id
left join items as item on item.id = line.item_id
left join products as product on product.id = line.product_id
left join holding_rules as rule on rule.id = item.receiving_rule_id
where line.kind = 'goods'
