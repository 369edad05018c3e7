package org.tidemark.demo;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.context.RuntimeResourceDefinition;
import ca.uhn.fhir.interceptor.api.Hook;
import ca.uhn.fhir.interceptor.api.Interceptor;
import ca.uhn.fhir.interceptor.api.Pointcut;
import ca.uhn.fhir.rest.annotation.Transaction;
import ca.uhn.fhir.rest.annotation.TransactionParam;
import ca.uhn.fhir.rest.api.RequestTypeEnum;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import ca.uhn.fhir.rest.param.TokenParam;
import ca.uhn.fhir.rest.param.UriParam;
import ca.uhn.fhir.rest.server.FifoMemoryPagingProvider;
import ca.uhn.fhir.rest.server.RestfulServer;
import ca.uhn.fhir.rest.server.exceptions.InvalidRequestException;
import ca.uhn.fhir.rest.server.exceptions.PreconditionFailedException;
import io.undertow.Undertow;
import io.undertow.servlet.Servlets;
import io.undertow.servlet.api.DeploymentInfo;
import io.undertow.servlet.api.DeploymentManager;
import io.undertow.servlet.util.ImmediateInstanceFactory;
import jakarta.servlet.ServletException;
import java.net.URI;
import java.util.Date;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.UUID;
import java.util.function.Consumer;
import java.util.stream.Stream;
import org.apache.hc.core5.net.URIBuilder;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.hl7.fhir.r4.model.Bundle.HTTPVerb;
import org.hl7.fhir.r4.model.Resource;

/**
 * A plain FHIR R4 record system, which knows nothing of plans: HAPI's server with its store in
 * memory for every type, search by identifier, versions, and transactions that create and update.
 */
public final class PlainRecordSystem implements AutoCloseable {
  private static final FhirContext R4 = FhirContext.forR4Cached();
  private static final int PAGE = 1_000;

  private final Map<String, PlainRecords<? extends Resource>> records = new HashMap<>();
  private final Undertow server;
  private final String base;
  private volatile Consumer<RequestTypeEnum> beforeAnswers = request -> {};

  /**
   * Starts it on a port of this machine.
   *
   * @param port the port
   */
  public PlainRecordSystem(int port) {
    this(port, true);
  }

  /**
   * Starts it on a port of this machine.
   *
   * @param port the port
   * @param transactions whether it takes transactions
   */
  public PlainRecordSystem(int port, boolean transactions) {
    this(port, transactions, R4.getResourceTypes());
  }

  /**
   * Starts it on a port of this machine.
   *
   * @param port the port
   * @param transactions whether it takes transactions
   * @param types the types that it keeps; to tell what it can takes it the longer, the more they
   *     are
   */
  public PlainRecordSystem(int port, boolean transactions, Set<String> types) {
    this.base = "http://localhost:" + port + "/fhir";
    RestfulServer fhir = new RestfulServer(R4);
    for (String type : types) {
      records.put(type, of(R4.getResourceDefinition(type)));
    }
    fhir.registerProviders(records.values());
    fhir.registerInterceptor(new Witness());
    if (transactions) {
      fhir.registerProvider(this);
    }
    FifoMemoryPagingProvider pages = new FifoMemoryPagingProvider(10);
    pages.setDefaultPageSize(PAGE);
    pages.setMaximumPageSize(PAGE);
    fhir.setPagingProvider(pages);
    DeploymentInfo application =
        Servlets.deployment()
            .setClassLoader(PlainRecordSystem.class.getClassLoader())
            .setContextPath("/")
            .setDeploymentName("records")
            .addServlet(
                Servlets.servlet("fhir", RestfulServer.class, new ImmediateInstanceFactory<>(fhir))
                    .addMapping("/fhir/*")
                    .setLoadOnStartup(1));
    DeploymentManager deployment = Servlets.defaultContainer().addDeployment(application);
    deployment.deploy();
    try {
      server =
          Undertow.builder()
              .addHttpListener(port, "localhost")
              .setHandler(deployment.start())
              .build();
    } catch (ServletException e) {
      throw new IllegalStateException("the record system does not start", e);
    }
    server.start();
  }

  /** Lets something happen when the work is done and nobody has been told. */
  @Interceptor
  public final class Witness {
    /** Calls it. */
    @Hook(Pointcut.SERVER_OUTGOING_RESPONSE)
    public void before(RequestDetails request) {
      beforeAnswers.accept(request.getRequestType());
    }
  }

  /** What happens before each answer; what it throws is answered instead. */
  public void beforeAnswers(Consumer<RequestTypeEnum> happening) {
    beforeAnswers = happening;
  }

  private static PlainRecords<? extends Resource> of(RuntimeResourceDefinition type) {
    return new PlainRecords<>(R4, type.getImplementingClass().asSubclass(Resource.class));
  }

  /** The address of its endpoint. */
  public String base() {
    return base;
  }

  /**
   * Carries a transaction out: all of it, or nothing when an entry is not understood.
   *
   * @param transaction entries that create, under a condition or not, and that update
   */
  @Transaction
  public synchronized Bundle transact(@TransactionParam Bundle transaction) {
    Map<String, String> known = new HashMap<>();
    Map<BundleEntryComponent, String> fresh = new LinkedHashMap<>();
    Bundle answer = new Bundle().setType(Bundle.BundleType.TRANSACTIONRESPONSE);
    for (BundleEntryComponent entry : transaction.getEntry()) {
      String type = entry.getResource().fhirType();
      List<String> there =
          entry.getRequest().hasIfNoneExist()
              ? found(type, entry.getRequest().getIfNoneExist())
              : List.of();
      if (there.size() > 1) {
        throw new InvalidRequestException("Several records match " + entry.getFullUrl());
      }
      String reference = there.isEmpty() ? newReference(entry, type) : there.get(0);
      known.put(entry.getFullUrl(), reference);
      if (there.isEmpty()) {
        fresh.put(entry, reference);
      }
      requireMatch(entry, type, reference);
      answer
          .addEntry()
          .getResponse()
          .setStatus(there.isEmpty() ? "201 Created" : "200 OK")
          .setLocation(reference);
    }
    fresh.forEach(
        (entry, reference) -> {
          R4.newTerser()
              .getAllResourceReferences(entry.getResource())
              .forEach(
                  named ->
                      named
                          .getResourceReference()
                          .setReference(
                              known.getOrDefault(
                                  named.getResourceReference().getReferenceElement().getValue(),
                                  named.getResourceReference().getReferenceElement().getValue())));
          store(entry.getResource(), reference);
        });
    answer.getEntry().stream()
        .map(BundleEntryComponent::getResponse)
        .forEach(
            response ->
                response.setEtag("W/\"" + version(response.getLocation()).orElse("") + "\""));
    return answer;
  }

  private void requireMatch(BundleEntryComponent entry, String type, String reference) {
    String wanted = entry.getRequest().getIfMatch();
    if (wanted != null && !wanted.equals("W/\"" + version(reference).orElse("") + "\"")) {
      throw new PreconditionFailedException(type + " was changed meanwhile.");
    }
  }

  private Optional<String> version(String reference) {
    String[] parts = reference.split("/");
    return records.get(parts[0]).getStoredResources().stream()
        .filter(record -> record.getIdElement().getIdPart().equals(parts[1]))
        .map(record -> record.getMeta().getVersionId())
        .findFirst();
  }

  private static String newReference(BundleEntryComponent entry, String type) {
    HTTPVerb verb = entry.getRequest().getMethod();
    if (verb == HTTPVerb.PUT) {
      return entry.getRequest().getUrl();
    } else if (verb == HTTPVerb.POST) {
      return type + "/" + UUID.randomUUID();
    }
    throw new InvalidRequestException("Only POST and PUT are known here, not " + verb);
  }

  private List<String> found(String type, String condition) {
    Map<String, String> wanted = new HashMap<>();
    new URIBuilder(URI.create("?" + condition.replace("|", "%7C")))
        .getQueryParams()
        .forEach(parameter -> wanted.put(parameter.getName(), parameter.getValue()));
    if (!List.of("identifier", "url", "version").containsAll(wanted.keySet())) {
      throw new InvalidRequestException("Nothing is found here by " + condition);
    }
    return records
        .get(type)
        .find(
            token(wanted.get("identifier")),
            wanted.containsKey("url") ? new UriParam(wanted.get("url")) : null,
            wanted.containsKey("version") ? new TokenParam(wanted.get("version")) : null,
            null,
            null,
            null,
            null)
        .getAllResources()
        .stream()
        .map(record -> type + "/" + record.getIdElement().getIdPart())
        .toList();
  }

  private static TokenParam token(String text) {
    if (text == null) {
      return null;
    }
    int bar = text.indexOf('|');
    return bar < 0
        ? new TokenParam(text)
        : new TokenParam(text.substring(0, bar), text.substring(bar + 1));
  }

  /** Stores the next version of a record, under its own id. */
  public void put(Resource record) {
    store(record, record.fhirType() + "/" + record.getIdElement().getIdPart());
  }

  @SuppressWarnings("unchecked")
  private void store(Resource record, String reference) {
    record.setId(reference);
    record.getMeta().setLastUpdated(new Date());
    ((PlainRecords<Resource>) records.get(record.fhirType())).store(record);
  }

  /** Every record of a type, as it stands. */
  public Stream<? extends IBaseResource> all(String type) {
    return records.get(type).getStoredResources().stream();
  }

  @Override
  public void close() {
    server.stop();
  }
}
