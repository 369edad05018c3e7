package org.tidemark;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertNotNull;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.DeserializationFeature;
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.introspect.Annotated;
import com.fasterxml.jackson.databind.introspect.JacksonAnnotationIntrospector;
import com.fasterxml.jackson.dataformat.yaml.YAMLFactory;
import io.fabric8.kubernetes.api.model.ConfigMap;
import io.fabric8.kubernetes.api.model.Container;
import io.fabric8.kubernetes.api.model.HasMetadata;
import io.fabric8.kubernetes.api.model.IntOrString;
import io.fabric8.kubernetes.api.model.PodSpec;
import io.fabric8.kubernetes.api.model.Probe;
import io.fabric8.kubernetes.api.model.Service;
import io.fabric8.kubernetes.api.model.apps.Deployment;
import io.fabric8.kubernetes.api.model.networking.v1.NetworkPolicy;
import io.fabric8.kubernetes.api.model.policy.v1.PodDisruptionBudget;
import io.quarkus.test.junit.QuarkusTest;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.Duration;
import java.util.ArrayList;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.TreeSet;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.eclipse.microprofile.config.ConfigProvider;
import org.junit.jupiter.api.Test;
import org.tidemark.application.Stopping;

/** What is in {@code deploy} fits the service and itself. */
@QuarkusTest
class DeployTest {
  private static final Path DEPLOY = Path.of("deploy");
  private static final Pattern METRIC =
      Pattern.compile("\\b(?:tidemark|http|agroal|jvm|process|system)_[a-z0-9_]+");
  private static final Pattern SETTING = Pattern.compile("\\b(?:TIDEMARK|QUARKUS)_[A-Z_]+\\b");

  private static final Map<String, Class<? extends HasMetadata>> KINDS =
      Map.of(
          "configmap.yaml", ConfigMap.class,
          "deployment.yaml", Deployment.class,
          "service.yaml", Service.class,
          "disruption-budget.yaml", PodDisruptionBudget.class,
          "network-policy.yaml", NetworkPolicy.class);

  private static final ObjectMapper YAML = new ObjectMapper(new YAMLFactory());

  /** The models keep what they do not know; here it is a fault. */
  private static final ObjectMapper STRICT =
      new ObjectMapper(new YAMLFactory())
          .enable(DeserializationFeature.FAIL_ON_UNKNOWN_PROPERTIES)
          .setAnnotationIntrospector(
              new JacksonAnnotationIntrospector() {
                private static final long serialVersionUID = 1L;

                @Override
                public Boolean hasAnySetter(Annotated annotated) {
                  return false;
                }
              });

  private static String text(String file) throws IOException {
    return Files.readString(DEPLOY.resolve(file));
  }

  private static <T extends HasMetadata> T manifest(String file, Class<T> kind) throws IOException {
    T read = STRICT.readValue(text("kubernetes/" + file), kind);
    assertEquals(HasMetadata.getKind(kind), read.getKind(), file);
    assertEquals(HasMetadata.getApiVersion(kind), read.getApiVersion(), file);
    assertEquals("tidemark", read.getMetadata().getName(), file);
    return read;
  }

  // ---- figures ----

  private static List<JsonNode> alerts() throws IOException {
    List<JsonNode> alerts = new ArrayList<>();
    YAML.readTree(text("alerts.yaml")).get("groups").get(0).get("rules").forEach(alerts::add);
    return alerts;
  }

  @Test
  void everyFigureOfTheAlertsAndTheDashboardIsOneOfTheService() throws IOException {
    List<String> expressions = new ArrayList<>();
    alerts().forEach(alert -> expressions.add(alert.get("expr").asText()));
    new ObjectMapper()
        .readTree(text("dashboard.json"))
        .get("panels")
        .forEach(
            panel ->
                panel
                    .get("targets")
                    .forEach(target -> expressions.add(target.get("expr").asText())));
    Set<String> used = new TreeSet<>();
    for (String expression : expressions) {
      Matcher names = METRIC.matcher(expression.replaceAll("\"[^\"]*\"", "\"\""));
      while (names.find()) {
        used.add(names.group());
      }
    }
    assertTrue(used.size() > 20, "" + used);
    given().get("/fhir/metadata").then().statusCode(200);
    System.gc();
    Set<String> there = new TreeSet<>();
    given()
        .get("/q/metrics")
        .then()
        .statusCode(200)
        .extract()
        .asString()
        .lines()
        .filter(line -> !line.startsWith("#"))
        .forEach(line -> there.add(line.split("[{ ]")[0]));
    used.removeAll(there);
    assertEquals(Set.of(), used, "not among the figures");
  }

  @Test
  void everyAlertHasItsSectionInTheRunbookAndNoneIsLeftOver() throws IOException {
    Set<String> named = new LinkedHashSet<>();
    for (JsonNode alert : alerts()) {
      String name = alert.get("alert").asText();
      named.add(name);
      assertEquals(
          "RUNBOOK.md#" + name.toLowerCase(java.util.Locale.ROOT),
          alert.get("annotations").get("runbook").asText());
      assertTrue(List.of("page", "ticket").contains(alert.get("labels").get("severity").asText()));
    }
    Set<String> told = new LinkedHashSet<>();
    for (String section : text("RUNBOOK.md").split("\n## ")) {
      if (section.startsWith("Tidemark")) {
        told.add(section.lines().findFirst().orElseThrow());
        for (String part : List.of("**Means** ", "**Look** ", "**Do** ")) {
          assertTrue(section.contains("\n" + part), section);
        }
      }
    }
    assertEquals(named, told);
  }

  // ---- settings ----

  @Test
  void everySettingThatIsNamedThereIsOneOfTheService() throws IOException {
    Set<String> known = new TreeSet<>();
    ConfigProvider.getConfig()
        .getPropertyNames()
        .forEach(name -> known.add(name.toUpperCase(java.util.Locale.ROOT).replaceAll("\\W", "_")));
    // Those of Quarkus that have no value unless they are set.
    known.add("QUARKUS_HTTP_PROXY_TRUSTED_PROXIES");
    Set<String> unknown = new TreeSet<>();
    try (var files = Files.walk(DEPLOY)) {
      for (Path file : files.filter(Files::isRegularFile).toList()) {
        Matcher settings = SETTING.matcher(Files.readString(file));
        while (settings.find()) {
          if (!known.contains(settings.group()) && !settings.group().endsWith("_")) {
            unknown.add(file.getFileName() + " " + settings.group());
          }
        }
      }
    }
    assertEquals(Set.of(), unknown);
  }

  // ---- Kubernetes ----

  @Test
  void eachManifestIsOneThatKubernetesKnows() throws IOException {
    for (String file : KINDS.keySet()) {
      manifest(file, KINDS.get(file));
    }
    Set<String> listed = new TreeSet<>();
    YAML.readTree(text("kubernetes/kustomization.yaml"))
        .get("resources")
        .forEach(resource -> listed.add(resource.asText()));
    assertEquals(new TreeSet<>(KINDS.keySet()), listed);
  }

  @Test
  void aFieldThatKubernetesDoesNotKnowIsFound() throws IOException {
    String wrong = text("kubernetes/deployment.yaml").replace("readinessProbe:", "readynessProbe:");
    org.junit.jupiter.api.Assertions.assertThrows(
        com.fasterxml.jackson.databind.exc.UnrecognizedPropertyException.class,
        () -> STRICT.readValue(wrong, Deployment.class));
  }

  @Test
  void whatSelectsTheInstancesFindsThem() throws IOException {
    Map<String, String> labels =
        manifest("deployment.yaml", Deployment.class)
            .getSpec()
            .getTemplate()
            .getMetadata()
            .getLabels();
    assertEquals(labels, manifest("service.yaml", Service.class).getSpec().getSelector());
    assertEquals(
        labels,
        manifest("disruption-budget.yaml", PodDisruptionBudget.class)
            .getSpec()
            .getSelector()
            .getMatchLabels());
    assertEquals(
        labels,
        manifest("network-policy.yaml", NetworkPolicy.class)
            .getSpec()
            .getPodSelector()
            .getMatchLabels());
  }

  @Test
  void anInstanceIsHeldTightlyAndReplacedWithoutAGap() throws IOException {
    Deployment deployment = manifest("deployment.yaml", Deployment.class);
    var rolling = deployment.getSpec().getStrategy().getRollingUpdate();
    assertEquals(new IntOrString(0), rolling.getMaxUnavailable());
    assertEquals(new IntOrString(1), rolling.getMaxSurge());
    PodSpec pod = deployment.getSpec().getTemplate().getSpec();
    assertTrue(pod.getSecurityContext().getRunAsNonRoot());
    Container container = pod.getContainers().get(0);
    assertTrue(container.getSecurityContext().getReadOnlyRootFilesystem());
    assertEquals(List.of("ALL"), container.getSecurityContext().getCapabilities().getDrop());
    Map<String, String> settings = manifest("configmap.yaml", ConfigMap.class).getData();
    long stop =
        Long.parseLong(container.getLifecycle().getPreStop().getExec().getCommand().get(1))
            + seconds(settings.get("QUARKUS_SHUTDOWN_DELAY"))
            + seconds(settings.get("QUARKUS_SHUTDOWN_TIMEOUT"))
            + Stopping.PATIENCE_SECONDS;
    assertTrue(pod.getTerminationGracePeriodSeconds() > stop, "it would be killed before its end");
    Probe ready = container.getReadinessProbe();
    assertTrue(
        ready.getPeriodSeconds() * ready.getFailureThreshold()
            < seconds(settings.get("QUARKUS_SHUTDOWN_DELAY")) / 2,
        "it would refuse before it is taken out");
    for (Probe probe : List.of(container.getStartupProbe(), container.getLivenessProbe(), ready)) {
      given().get(probe.getHttpGet().getPath()).then().statusCode(200);
      assertNotNull(probe.getHttpGet().getPort());
    }
  }

  private static long seconds(String setting) {
    return Duration.parse("PT" + setting).toSeconds();
  }
}
