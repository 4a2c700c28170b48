using System.Net;
using System.Net.Sockets;
using Hindbeat.Bench.Adding;
using Hindbeat.Bench.Assets;
using Hindbeat.Bench.Desk;
using Hindbeat.Bench.Exports;
using Hindbeat.Bench.Guard;
using Hindbeat.Bench.Pages;
using Hindbeat.Bench.Practice;
using Hindbeat.Bench.Sounds;
using Hindbeat.Units;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.AspNetCore.HostFiltering;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;

namespace Hindbeat.Bench;

/// <summary>The local web page, running. Dispose it to stop.</summary>
public sealed class BenchServer : IAsyncDisposable
{
    private readonly WebApplication _app;

    private BenchServer(WebApplication app, Uri address)
    {
        _app = app;
        Address = address;
    }

    /// <summary>Where a browser on this machine finds it: http://127.0.0.1:PORT/.</summary>
    public Uri Address { get; }

    /// <summary>Every address that answers: method and pattern. For the tests by attack, which leave none out.</summary>
    internal IReadOnlyList<(string Method, string Pattern)> Routes =>
    [
        .. ((IEndpointRouteBuilder)_app).DataSources.SelectMany(source => source.Endpoints).OfType<RouteEndpoint>()
            .SelectMany(route => (route.Metadata.GetMetadata<IHttpMethodMetadata>()?.HttpMethods ?? ["GET"]).Select(method => (method, "/" + (route.RoutePattern.RawText ?? "").TrimStart('/')))),
    ];

    internal StudyDesk Desk => _app.Services.GetRequiredService<StudyDesk>();

    /// <exception cref="InputException">The library cannot be opened, or the port is taken.</exception>
    public static async Task<BenchServer> StartAsync(BenchSettings settings, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(settings);

        // The empty builder reads neither environment variables nor settings files: ASPNETCORE_URLS or
        // a stray appsettings.json must not be able to open the page to the network.
        WebApplicationBuilder builder = WebApplication.CreateEmptyBuilder(new WebApplicationOptions
        {
            ApplicationName = typeof(BenchServer).Assembly.GetName().Name,
            ContentRootPath = AppContext.BaseDirectory,
            EnvironmentName = "Production",
        });
        builder.WebHost.UseKestrelCore();
        builder.WebHost.ConfigureKestrel(kestrel =>
        {
            kestrel.Listen(IPAddress.Loopback, settings.Port != 0 || !IsFree(settings.PreferredPort) ? settings.Port : settings.PreferredPort);
            kestrel.AddServerHeader = false;
            kestrel.Limits.MaxRequestBodySize = 1 << 20; // Its own messages are far smaller; where a recording is sent the bound is another.
        });
        if (settings.OnProblem is { } onProblem)
            builder.Logging.AddProvider(new ProblemLog(onProblem));
        builder.Services.AddRouting();
        builder.Services.Configure<HostFilteringOptions>(hosts =>
        {
            hosts.AllowedHosts = ["127.0.0.1", "localhost"];
            hosts.AllowEmptyHosts = false;
            hosts.IncludeFailureMessage = false;
        });
        // Keys live as long as the program: nothing is written, and a page left over from an earlier run is reloaded.
        builder.Services.AddDataProtection().UseEphemeralDataProtectionProvider();
        builder.Services.AddRazorComponents().AddInteractiveServerComponents();
        builder.Services.AddSingleton<ShippedAssets>();
        builder.Services.Configure<AntiforgeryOptions>(options =>
        {
            options.Cookie.Name = "hindbeat";
            options.Cookie.SameSite = SameSiteMode.Strict;
        });
        builder.Services.AddSingleton(_ => new StudyDesk(settings.LibraryFolder, settings.Clock));
        builder.Services.AddSingleton<StudySounds>();
        builder.Services.AddSingleton<TakeDesk>();
        builder.Services.AddSingleton<BlindTests>();
        builder.Services.AddSingleton<Intake>();
        builder.Services.AddSingleton<Tidying>();

        WebApplication app = builder.Build();
        app.UseHostFiltering();
        app.UseMiddleware<SameOriginOnly>();
        app.UseMiddleware<SecurityHeaders>();
        app.UseRouting();
        app.UseAntiforgery();
        app.Services.GetRequiredService<ShippedAssets>().Map(app);
        SoundEndpoints.Map(app);
        AddEndpoints.Map(app);
        ExportEndpoints.Map(app);
        PracticeEndpoints.Map(app);
        app.MapRazorComponents<App>().AddInteractiveServerRenderMode();
        try
        {
            // The library is opened now, not at the first page: what is wrong with it belongs on the command line.
            app.Services.GetRequiredService<Tidying>().Begin();
            await app.StartAsync(cancel).ConfigureAwait(false);
        }
        catch (Exception reason)
        {
            await app.DisposeAsync().ConfigureAwait(false);
            if (reason is IOException)
                throw new InputException($"Port {settings.Port} of this computer is taken by another program (perhaps by a bench that is still open); choose another one.", reason);
            throw;
        }

        string address = app.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.Single();
        return new BenchServer(app, new Uri(address));
    }

    private static bool IsFree(int port)
    {
        using var probe = new TcpListener(IPAddress.Loopback, port);
        try
        {
            probe.Start();
            return true;
        }
        catch (SocketException)
        {
            return false;
        }
    }

    public async ValueTask DisposeAsync()
    {
        await _app.StopAsync().ConfigureAwait(false);
        await _app.DisposeAsync().ConfigureAwait(false);
    }
}
