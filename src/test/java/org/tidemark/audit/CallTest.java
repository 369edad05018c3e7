package org.tidemark.audit;

import static org.junit.jupiter.api.Assertions.assertEquals;

import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** What a request asks for is told by its method and address, as R4's HTTP page lists them. */
class CallTest {

  @ParameterizedTest(name = "{0} /{1}")
  @CsvSource(
      nullValues = "-",
      value = {
        "GET, Goal/a, read, Goal/a, 0",
        "HEAD, Goal/a, read, Goal/a, 0",
        "GET, Goal/a/_history/12, vread, Goal/a, 12",
        "GET, Goal/a/_history/x, vread, Goal/a, 0",
        "GET, Goal/a/_history, history-instance, Goal/a, 0",
        "GET, Goal/_history, history-type, '', 0",
        "GET, _history, history-system, '', 0",
        "GET, Goal, search-type, '', 0",
        "POST, Goal/_search, search-type, '', 0",
        "POST, Goal, create, '', 0",
        "PUT, Goal/a, update, Goal/a, 0",
        "PUT, Goal, update, '', 0",
        "PATCH, Goal/a, patch, Goal/a, 0",
        "DELETE, Goal/a, delete, Goal/a, 0",
        "POST, '', transaction, '', 0",
        "GET, CarePlan/a/$handout, operation, CarePlan/a, 0",
        "POST, $receive-handover, operation, '', 0",
        "GET, Goal/a b, read, '', 0",
        "GET, goal/a, read, '', 0"
      })
  void isReadFromTheAddress(String method, String path, String code, String entity, long version) {
    for (String form : new String[] {path, "/" + path, "/" + path + "/"}) {
      Call call = Call.fhir(method, form, "as sent");
      assertEquals(code, call.interaction().code());
      assertEquals(entity, call.entity());
      assertEquals(version, call.entityVersion());
      assertEquals("as sent", call.line());
    }
  }
}
