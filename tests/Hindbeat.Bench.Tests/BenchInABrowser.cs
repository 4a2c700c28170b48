using Hindbeat.Studies;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>One server and one Chromium for all tests of the run: starting them is what takes the time.</summary>
public sealed class BenchInABrowser : IAsyncLifetime
{
    private readonly InventedStudies _studies = new();
    private IPlaywright? _playwright;
    private IBrowser? _browser;
    private BenchServer? _server;

    /// <summary>What the server complained of, ever.</summary>
    public IReadOnlyList<string> Problems => _problems;

    private readonly List<string> _problems = [];

    /// <summary>What the library holds.</summary>
    public IReadOnlyList<StudySummary> Studies => _studies.Summaries;

    /// <summary>Where the library lies.</summary>
    public string Folder => _studies.Folder;

    /// <summary>What the browser's microphone hears, over and over, from when it is opened; a test writes it first.</summary>
    public string Microphone => Path.Combine(Folder, "microphone.wav");

    /// <summary>The study whose recording is there.</summary>
    public Study Whole => _studies.Whole;

    /// <summary>The study whose recording is not where it was.</summary>
    public Study Gone => _studies.Gone;

    public Uri Address => _server!.Address;

    internal BenchServer Server => _server!;

    public async Task InitializeAsync()
    {
        _server = await BenchServer.StartAsync(new BenchSettings { LibraryFolder = _studies.Folder, OnProblem = Note });
        if (InstalledBrowser() is not { } browser)
            return;
        _playwright = await Playwright.CreateAsync();
        _browser = await _playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
        {
            ExecutablePath = browser,
            Args =
            [
                "--no-sandbox", "--autoplay-policy=no-user-gesture-required",
                // A microphone that plays a file, for who asks for one; the question to the user is answered with yes.
                "--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream", $"--use-file-for-fake-audio-capture={Microphone}",
            ],
        });
    }

    public async Task DisposeAsync()
    {
        if (_browser is not null)
            await _browser.CloseAsync();
        _playwright?.Dispose();
        if (_server is not null)
            await _server.DisposeAsync();
        _studies.Remove();
    }

    /// <summary>A fresh window; skips the test where no browser is installed, but fails it where CI=true.</summary>
    internal async Task<Window> OpenAsync(string path, int width = 1280, int height = 900, ColorScheme paper = ColorScheme.Light, string? initScript = null, bool bypassPolicy = false, bool touch = false, Uri? server = null)
    {
        SkipWithoutBrowser();
        IBrowserContext context = await _browser!.NewContextAsync(new BrowserNewContextOptions
        {
            ViewportSize = new ViewportSize { Width = width, Height = height },
            ColorScheme = paper,
            BypassCSP = bypassPolicy,
            HasTouch = touch,
        });
        IPage page = await context.NewPageAsync();
        var window = new Window(context, page);
        if (initScript is not null)
            await page.AddInitScriptAsync(initScript);
        await page.GotoAsync(new Uri(server ?? Address, path).ToString());
        return window;
    }

    /// <summary>The study whose recording is there, live.</summary>
    internal Task<Window> OpenStudyAsync(string? initScript = null) => OpenStudyAsync(Whole, initScript);

    /// <summary>A study, live.</summary>
    internal async Task<Window> OpenStudyAsync(Study study, string? initScript = null, int width = 1280, ColorScheme paper = ColorScheme.Light)
    {
        Window window = await OpenAsync($"study/{study.Id}", width, initScript: initScript, paper: paper);
        await window.WaitUntilLiveAsync();
        return window;
    }

    /// <summary>A study of its own for a test that changes it.</summary>
    internal Study Fresh([System.Runtime.CompilerServices.CallerMemberName] string test = "") =>
        Library.Save(Whole with { Id = "", Name = test.Replace('_', ' ') });

    /// <summary>The library, read past the server: what is kept is what stands there.</summary>
    internal StudyLibrary Library => StudyLibrary.Open(_studies.Folder);

    internal async Task<IBrowserContext> NewContextAsync()
    {
        SkipWithoutBrowser();
        return await _browser!.NewContextAsync(new BrowserNewContextOptions { ViewportSize = new ViewportSize { Width = 1280, Height = 900 } });
    }

    /// <summary>A file of this machine in a fresh window, with no server behind it.</summary>
    internal async Task<Window> OpenFileAsync(string file, bool scripts, bool bypassPolicy = false)
    {
        SkipWithoutBrowser();
        IBrowserContext context = await _browser!.NewContextAsync(new BrowserNewContextOptions { ViewportSize = new ViewportSize { Width = 1280, Height = 900 }, JavaScriptEnabled = scripts, BypassCSP = bypassPolicy });
        IPage page = await context.NewPageAsync();
        await page.GotoAsync(new Uri(file).ToString());
        return new Window(context, page);
    }

    private void SkipWithoutBrowser()
    {
        if (_browser is null)
        {
            Assert.False(Environment.GetEnvironmentVariable("CI") == "true", "CI must have a Chromium on its path.");
            Skip.If(true, "No chromium or chrome is on the path.");
        }
    }

    private void Note(string problem)
    {
        lock (_problems)
            _problems.Add(problem);
    }

    private static string? InstalledBrowser()
    {
        string[] names = ["chromium", "chromium-browser", "google-chrome", "chrome"];
        return (Environment.GetEnvironmentVariable("PATH") ?? "").Split(Path.PathSeparator)
            .SelectMany(folder => names.Select(name => Path.Combine(folder, OperatingSystem.IsWindows() ? name + ".exe" : name)))
            .FirstOrDefault(File.Exists);
    }
}

/// <summary>A browser window that remembers what went wrong in it and where it asked for things.</summary>
internal sealed class Window : IAsyncDisposable
{
    private readonly IBrowserContext _context;

    public Window(IBrowserContext context, IPage page)
    {
        _context = context;
        Page = page;
        page.Console += (_, message) =>
        {
            if (message.Type is "error" or "warning")
                Complaints.Add(message.Text);
        };
        page.PageError += (_, error) => Complaints.Add(error);
        page.Request += (_, request) => Requests.Add(request.Url);
        page.WebSocket += (_, socket) => Requests.Add(socket.Url);
    }

    public IPage Page { get; }
    public List<string> Complaints { get; } = [];
    public List<string> Requests { get; } = [];

    /// <summary>Waits until the study's script runs; clicks before that are lost.</summary>
    public async Task WaitUntilLiveAsync()
    {
        await Page.Locator("article[data-live] .ears").WaitForAsync();
        await Page.Locator("[data-takes][data-live]").WaitForAsync();
    }

    /// <summary>Types into a field of a page that may not be live yet: what is typed before that is lost, so it is typed until it stays.</summary>
    public async Task FillWhenLiveAsync(string selector, string text)
    {
        await Page.WaitForFunctionAsync("() => window.Blazor?._internal?.navigationManager !== undefined");
        await Page.WaitForLoadStateAsync(LoadState.NetworkIdle);
        await Page.FillAsync(selector, text);
    }

    /// <summary>Waits until the recording's sound has come and is drawn.</summary>
    public async Task WaitForSoundAsync() => await Page.Locator("[data-sound]").WaitForAsync();

    /// <summary>Waits until a change has been made, kept and drawn.</summary>
    public async Task WaitForRevisionAsync(int revision) => await Page.Locator($"[data-revision='{revision}']").WaitForAsync();

    /// <summary>Where a moment and a row lie on the timeline, in pixels of the page.</summary>
    public async Task<(float X, float Y)> OnTimelineAsync(Study study, double seconds, double fromTop)
    {
        ILocator canvas = Page.Locator("[data-timeline]");
        await canvas.ScrollIntoViewIfNeededAsync();
        LocatorBoundingBoxResult box = (await canvas.BoundingBoxAsync())!;
        double share = (seconds - study.From.TotalSeconds) / (study.To - study.From).Value;
        return ((float)(box.X + (share * box.Width)), (float)(box.Y + fromTop));
    }

    /// <summary>No error in the console, none on the server, and nothing was asked of anyone but the server.</summary>
    public void AssertQuiet(BenchInABrowser bench)
    {
        Assert.Empty(Complaints);
        Assert.True(bench.Problems.Count == 0, string.Join(Environment.NewLine, bench.Problems));
        Assert.NotEmpty(Requests);
        Assert.All(Requests.Where(address => !address.StartsWith("blob:", StringComparison.Ordinal)), address => Assert.Equal(bench.Address.Authority, new Uri(address).Authority));
    }

    public ValueTask DisposeAsync() => new(_context.CloseAsync());
}

/// <summary>All browser tests run one after another: two cores, one browser.</summary>
[CollectionDefinition(Name)]
public sealed class OneBrowser : ICollectionFixture<BenchInABrowser>
{
    public const string Name = "bench in a browser";
}
