using Hindbeat.Studies;
using Hindbeat.Takes;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>Nothing done is lost: not between two tabs, not when the page is closed, not when the bench itself is closed and started again.</summary>
[Collection(OneBrowser.Name)]
public class SavingTests(BenchInABrowser bench)
{
    [SkippableFact]
    public async Task Two_tabs_on_one_study_see_and_keep_each_other_s_changes()
    {
        Study study = bench.Fresh();
        await using Window one = await bench.OpenStudyAsync(study);
        await using Window other = await bench.OpenStudyAsync(study);
        await one.Page.ClickAsync("[data-halve]");
        await other.WaitForRevisionAsync(1);
        await Assertions.Expect(other.Page.Locator("[data-pulse-sure]")).ToContainTextAsync("by hand");

        // Both at once, on different things: both are there.
        await Task.WhenAll(
            one.Page.SelectOptionAsync("[data-swing-writing]", "Triplet"),
            other.Page.SelectOptionAsync("[data-reference]", "WholeKit"));
        await one.WaitForRevisionAsync(3);
        await other.WaitForRevisionAsync(3);
        Study stored = bench.Library.Load(study.Id)!;
        Assert.Equal(Charting.SwingWriting.Triplet, StudyEditor.Writing(stored, new Charting.ChartOptions()).SwingWriting);
        Assert.Equal(Feel.FeelReference.WholeKit, stored.Feel.Reference);
        Assert.Equal(3, stored.Changes.Count);

        // Undone in the one, it is undone in the other.
        await other.Page.ClickAsync("[data-undo]");
        await one.WaitForRevisionAsync(4);
        Assert.Equal(2, bench.Library.Load(study.Id)!.Changes.Count);

        // Deleted elsewhere, the page says so instead of pretending.
        await using Window library = await bench.OpenAsync("");
        await library.Page.Locator("[data-library][data-live]").WaitForAsync();
        await library.Page.GetByLabel($"Delete {study.Name}").ClickAsync();
        await Assertions.Expect(one.Page.Locator("h1")).ToHaveTextAsync("This study cannot be shown");
    }

    [SkippableFact]
    public async Task Closing_the_page_at_once_after_a_change_loses_nothing_not_even_the_way_back()
    {
        Study study = bench.Fresh();
        await using (Window window = await bench.OpenStudyAsync(study))
        {
            await window.Page.ClickAsync("[data-double]");
            await window.WaitForRevisionAsync(1);
        }

        await using Window again = await bench.OpenStudyAsync(study);
        await Assertions.Expect(again.Page.Locator("[data-undo]")).ToContainTextAsync("double");
        await again.Page.ClickAsync("[data-undo]");
        await again.WaitForRevisionAsync(2);
        Assert.Equal(study.Performance.Hits, bench.Library.Load(study.Id)!.Performance.Hits);
        bench.Library.Delete(study.Id);
    }

    [SkippableFact]
    public async Task Name_and_tags_are_kept()
    {
        Study study = bench.Fresh();
        await using Window window = await bench.OpenStudyAsync(study);
        IPage page = window.Page;
        await page.ClickAsync(".naming summary");
        await page.FillAsync(".naming input >> nth=0", "Ferry at dawn");
        await page.FillAsync(".naming input >> nth=1", "slow, brushes , slow");
        await page.ClickAsync(".naming button");
        await Assertions.Expect(page.Locator("h1")).ToHaveTextAsync("Ferry at dawn");
        await window.WaitForRevisionAsync(2);
        Study stored = bench.Library.Load(study.Id)!;
        Assert.Equal("Ferry at dawn", stored.Name);
        Assert.Equal(["slow", "brushes"], stored.Tags);
        bench.Library.Delete(study.Id);
        window.AssertQuiet(bench);
    }

    /// <summary>Until the bench closes a deleted study can be brought back, its takes with it; then their sound goes, and only then.</summary>
    [Fact]
    public async Task A_deleted_study_s_takes_go_with_their_sound_when_the_bench_closes()
    {
        string folder = Directory.CreateTempSubdirectory("hindbeat-tidy-").FullName;
        StudyLibrary library = StudyLibrary.Open(folder);
        Study study = library.Save(bench.Whole with { Id = "" }), brought = library.Save(bench.Whole with { Id = "", Name = "Brought back" });
        (string sound, string broughtSound) = (KeepTake(library, study), KeepTake(library, brought));
        await using (BenchServer first = await BenchServer.StartAsync(new BenchSettings { LibraryFolder = folder }))
        {
            first.Desk.Delete(study.Id);
            first.Desk.Delete(brought.Id);
            first.Desk.BringBack();
            // A second bench that comes and goes must take nothing from under the first.
            await using (await BenchServer.StartAsync(new BenchSettings { LibraryFolder = folder }))
                Assert.True(File.Exists(sound));
            Assert.True(File.Exists(sound));
        }

        Assert.False(File.Exists(sound));
        Assert.True(File.Exists(broughtSound));
        Assert.Equal(broughtSound, Assert.Single(new TakeShelf(library).Of(brought.Id)).Source);

        // Deleted where no bench was told: it goes at the next start.
        library.Delete(brought.Id);
        await using (await BenchServer.StartAsync(new BenchSettings { LibraryFolder = folder }))
            Assert.False(File.Exists(broughtSound));
        Directory.Delete(folder, recursive: true);
    }

    private static string KeepTake(StudyLibrary library, Study study)
    {
        string path = OwnFiles.NewPath(new OwnFiles(library).Takes, Guid.NewGuid().ToByteArray().AsSpan(0, OwnFiles.NameBytes)) + ".wav";
        File.WriteAllText(path, "sound");
        TakeComparisonResult result = TakeComparison.Of(study.Performance, TakeAligner.Align(study.Performance, study.Performance.Hits));
        new TakeShelf(library).Keep(KeptTake.Of(study.Id, "monday", study.Created, path, null, result));
        return path;
    }

    /// <summary>Started without a port the bench comes back under its usual one, and takes another only where a second bench is open.</summary>
    [Fact]
    public async Task The_usual_port_is_taken_again_and_given_up_when_it_is_not_free()
    {
        int usual;
        using (var free = new System.Net.Sockets.TcpListener(System.Net.IPAddress.Loopback, 0))
        {
            free.Start();
            usual = ((System.Net.IPEndPoint)free.LocalEndpoint).Port;
        }

        for (int i = 0; i < 2; i++)
        {
            await using BenchServer first = await BenchServer.StartAsync(new BenchSettings { LibraryFolder = bench.Folder, PreferredPort = usual });
            Assert.Equal(usual, first.Address.Port);
            await using BenchServer second = await BenchServer.StartAsync(new BenchSettings { LibraryFolder = bench.Folder, PreferredPort = usual });
            Assert.NotEqual(usual, second.Address.Port);
        }
    }

    [SkippableFact]
    public async Task The_page_comes_back_by_itself_when_the_bench_was_closed_and_started_again()
    {
        Study study = bench.Fresh();
        BenchServer first = await BenchServer.StartAsync(new BenchSettings { LibraryFolder = bench.Folder });
        int port = first.Address.Port;
        IBrowserContext context = await bench.NewContextAsync();
        IPage page = await context.NewPageAsync();
        await page.GotoAsync(new Uri(first.Address, $"study/{study.Id}").ToString());
        await page.Locator("[data-live]").WaitForAsync();
        await page.ClickAsync("[data-halve]");
        await page.Locator("[data-revision='1']").WaitForAsync();
        await first.DisposeAsync();
        await page.Locator("#components-reconnect-modal").WaitForAsync(new LocatorWaitForOptions { State = WaitForSelectorState.Visible });
        await using BenchServer second = await BenchServer.StartAsync(new BenchSettings { LibraryFolder = bench.Folder, Port = port });
        // The attribute is set on the first change after loading: a page loaded anew has none, and shows what was kept.
        await Assertions.Expect(page.Locator("article[data-live]:not([data-revision])")).ToHaveCountAsync(1, new LocatorAssertionsToHaveCountOptions { Timeout = 60_000 });
        await Assertions.Expect(page.Locator("[data-undo]")).ToContainTextAsync("halve");
        await page.ClickAsync("[data-undo]");
        await page.Locator("[data-revision='2']").WaitForAsync();
        await context.CloseAsync();
        bench.Library.Delete(study.Id);
    }
}
