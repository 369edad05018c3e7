package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** The look at statements lets through what names its clinic, and nothing else. */
class ClinicTiesTest {
  @ParameterizedTest
  @ValueSource(
      strings = {
        "select json from resource_current where clinic = ? and resource_id = ?",
        "select * from plan p where p.clinic = :clinic and not exists (select 1 from caseload c"
            + " where c.clinic = p.clinic and c.plan_id = p.plan_id)",
        "select version from resource_version v where clinic = :clinic and not exists (select 1"
            + " from resource_current c where c.clinic = v.clinic)",
        "select a from search_uri where clinic = ? union select b from resource_current"
            + " where clinic = ? and subject = ?",
        "insert into plan (clinic, plan_id) values (?, ?)",
        "insert into resource_version (clinic, json) select clinic, json from resource_current"
            + " where clinic = ?",
        "delete from audit_event where clinic=? and seq <= ?",
        "update sweep_due set due_ms=? where clinic = ? and plan_id in (?,?)",
        "select 1",
        "select set_config('tidemark.clinic', ?, true)"
      })
  void whatNamesItsClinicPasses(String sql) {
    assertEquals(List.of(), ClinicTies.untied(sql));
  }

  @Test
  void whatDoesNotIsFound() {
    assertEquals(List.of("plan"), ClinicTies.untied("select * from plan where plan_id = ?"));
    assertEquals(List.of("plan"), ClinicTies.untied("select * from plan p where p.plan_id = ?"));
    assertEquals(
        List.of("plan"), ClinicTies.untied("select clinic from plan p where p.plan_id = ?"));
    assertEquals(List.of("plan"), ClinicTies.untied("insert into plan (plan_id) values (?)"));
    assertEquals(List.of("plan"), ClinicTies.untied("update plan set status = ? where plan_id=?"));
    assertEquals(List.of("plan"), ClinicTies.untied("delete from plan where plan_id = ?"));
    assertEquals(
        List.of("caseload"),
        ClinicTies.untied(
            "select * from plan p join caseload c on c.plan_id = p.plan_id where p.clinic = ?"));
    assertEquals(
        List.of("search_token"),
        ClinicTies.untied(
            "select * from resource_current c where c.clinic = ? and exists"
                + " (select 1 from search_token t where t.resource_id = c.resource_id)"));
    assertEquals(
        List.of("resource_current", "search_token").size(),
        ClinicTies.untied(
                "select * from resource_current c, search_token t where t.clinic = c.clinic")
            .size(),
        "each by the other and none by a value");
  }
}
