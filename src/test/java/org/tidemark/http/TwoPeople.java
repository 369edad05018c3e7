package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertTrue;

import io.restassured.RestAssured;
import io.restassured.builder.RequestSpecBuilder;
import java.math.BigDecimal;
import java.util.ArrayList;
import java.util.HashSet;
import java.util.List;
import java.util.Set;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.application.PaperFiling;

/**
 * Two people with the same plan, reports, warning, precaution and papers, on a service that asks
 * for tokens.
 *
 * @param all sends with a token that may do everything
 * @param ofB the ids of everything that says something of B, however far from them
 */
record TwoPeople(PlanPerson a, PlanPerson b, Sender all, Set<String> ofB) {

  /** The people, and a token that may do everything for what is sent of them. */
  static TwoPeople seeded(PaperFiling papers) {
    String everything = SmartProfile.token("system/*.cruds user/*.cruds", (String) null);
    PlanPerson.token = everything;
    RestAssured.requestSpecification =
        new RequestSpecBuilder().addHeader("Authorization", "Bearer " + everything).build();
    if (known == null) {
      Sender all = new Sender(everything);
      PlanPerson a = person();
      PlanPerson b = person();
      papers.file();
      known = new TwoPeople(a, b, all, about(all, b));
    }
    return known;
  }

  private static TwoPeople known;

  /** Other tests send without a token. */
  static void leave() {
    PlanPerson.token = null;
    RestAssured.requestSpecification = null;
  }

  private static PlanPerson person() {
    PlanPerson person = PlanPerson.enrolled();
    person.settled(1, 3);
    person.send(person.range(2, 95));
    person.send(person.limit("towel-thickness", "least", new BigDecimal("12"), "cm"));
    person.send(person.warning(4));
    return person;
  }

  static Set<String> about(Sender all, PlanPerson person) {
    Set<String> ids = new HashSet<>(Set.of(id(person.subject)));
    List<Resource> everything = new ArrayList<>();
    String page = "/fhir/_history?_count=500";
    while (page != null) {
      Bundle past =
          PlanPerson.CONTEXT.newJsonParser().parseResource(Bundle.class, all.get(page).body());
      past.getEntry().stream()
          .map(Bundle.BundleEntryComponent::getResource)
          .filter(resource -> resource != null && !resource.fhirType().endsWith("Definition"))
          .forEach(everything::add);
      page =
          past.getLink("next") == null
              ? null
              : past.getLink("next").getUrl().replace("http://localhost:8081", "");
    }
    int before = 0;
    while (ids.size() > before) {
      before = ids.size();
      for (Resource resource : everything) {
        String text = PlanPerson.json(resource);
        if (ids.stream().anyMatch(text::contains)) {
          ids.add(resource.getIdElement().getIdPart());
        }
      }
    }
    assertTrue(ids.size() > 20, "there is much to hide: " + ids.size());
    return ids;
  }

  static String id(String reference) {
    return reference.substring(reference.indexOf('/') + 1);
  }

  /** The id of a record of B: of this type, and the newest. */
  String ofB(String type) {
    return newest(type, b);
  }

  /** The id of the newest record of a type about a person. */
  String newest(String type, PlanPerson person) {
    Bundle found =
        PlanPerson.CONTEXT
            .newJsonParser()
            .parseResource(
                Bundle.class,
                all.get("/fhir/" + type + "?patient=" + person.subject + "&_count=1").body());
    return found.getEntryFirstRep().getResource().getIdElement().getIdPart();
  }
}
